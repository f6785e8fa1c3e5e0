"""What the ledger says of one appliance, now or on a day, as known at an instant."""

import datetime
from dataclasses import dataclass

from compliance.selectors.reports.ledger_years import transfers_known
from jobs.models import Appliance
from jobs.selectors.ledger import appliance_book_mg


@dataclass(frozen=True)
class Books:
    """What an appliance holds by its books, and what of that must have been lost, in milligrams.

    Refrigerant in service is never weighed: what went in beyond the full charge has leaked.
    """

    balance_mg: int
    lost_mg: int


def appliance_books(
    appliance: Appliance,
    full_charge_mg: int,
    *,
    on: datetime.date | None = None,
    known_at: datetime.datetime | None = None,
) -> Books:
    """Read an appliance's books.

    Args:
        appliance: the one asked about.
        full_charge_mg: in force on the day.
        on: counting what moved up to and with this day; all unless given.
        known_at: counting what was filed up to this instant; all unless given.
    """
    among = None if known_at is None else transfers_known(known_at)
    balance_mg = appliance_book_mg(appliance, on, among)
    return Books(balance_mg, max(0, balance_mg - full_charge_mg))
