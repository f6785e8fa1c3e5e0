"""How an appliance's full charge was determined: at its registration, by later changes, and by service records."""

import datetime
from dataclasses import dataclass, field
from typing import Any

from jobs.models import Appliance, FullChargeDetermination, FullChargeMethod, Statement
from jobs.selectors.appliances import CHARGE_STATEMENTS
from jobs.selectors.events import OF_STANDING_EVENT


@dataclass(frozen=True)
class Determination:
    """One determination of a full charge; ``estimate`` holds a calculation's parts, model and result."""

    determined_on: datetime.date
    refrigerant: str
    full_charge_mg: int
    method_words: str
    filed_by: str
    derivation: str = ""
    lowest_mg: int | None = None
    highest_mg: int | None = None
    range_words: str = ""
    estimate: dict[str, Any] = field(default_factory=dict)
    event_id: int | None = None


def full_charge_determinations(appliance: Appliance) -> list[Determination]:
    """Every determination on record, newest first; service records that were amended or voided don't count."""
    filed = filed_determinations(appliance)
    statements = Statement.objects.filter(
        OF_STANDING_EVENT, event__appliance=appliance, kind__in=CHARGE_STATEMENTS
    ).select_related("event__filed_by")
    stated = [_stated(statement, appliance) for statement in statements]
    return sorted([*stated, *filed], key=lambda each: each.determined_on, reverse=True)


def filed_determinations(
    appliance: Appliance,
    *,
    as_of: datetime.date | None = None,
    known_at: datetime.datetime | None = None,
) -> list[Determination]:
    """The determinations filed by themselves, with their range or parts, newest first; no service records.

    Args:
        appliance: the one asked about.
        as_of: those determined after this day don't count; all count unless given.
        known_at: those filed after this instant don't count; all count unless given.

    Source: 40 CFR 82.157(l)(1), 84.106(l)(1) (what is kept of a full charge).
    """
    rows = appliance.full_charge_determinations.select_related("filed_by")
    if as_of is not None:
        rows = rows.filter(determined_on__lte=as_of)
    if known_at is not None:
        rows = rows.filter(filed_at__lte=known_at)
    return [_filed(row) for row in rows]


def _filed(row: FullChargeDetermination) -> Determination:
    is_range = row.method == FullChargeMethod.ESTABLISHED_RANGE
    estimate = row.inputs if "parts" in row.inputs else {}
    words = "Range" if is_range else "Estimate"
    return Determination(
        determined_on=row.determined_on,
        refrigerant=row.refrigerant,
        full_charge_mg=row.full_charge_mg,
        method_words=row.get_method_display(),
        filed_by=str(row.filed_by),
        derivation=row.derivation,
        lowest_mg=row.lowest_mg,
        highest_mg=row.highest_mg,
        range_words=words if row.lowest_mg is not None else "",
        estimate=estimate,
    )


def _stated(statement: Statement, appliance: Appliance) -> Determination:
    return Determination(
        determined_on=statement.event.happened_on,
        refrigerant=statement.details.get("refrigerant", appliance.refrigerant),
        full_charge_mg=statement.details["full_charge_mg"],
        method_words=charge_method_in_words(statement.details.get("method")),
        filed_by=str(statement.event.filed_by),
        event_id=statement.event_id,
    )


def charge_method_in_words(method: str | None) -> str:
    """The name of a method of determining a full charge; what isn't one of the known is said as it was recorded."""
    if method in FullChargeMethod.values:
        return str(FullChargeMethod(method).label)
    return method or "method not stated"
