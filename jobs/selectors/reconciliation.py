"""The month's reconciliation: each cylinder's books against its last weighing, and each refrigerant's account."""

import calendar
import datetime
from collections import defaultdict
from dataclasses import dataclass, field

from jobs.models import Cylinder, HolderKind, Transfer
from jobs.selectors.ledger import holder_balances
from jobs.selectors.receipts import ReceivedShipment, shipments_of
from jobs.selectors.weighings import WeighedStock, standing_weighings, weighed_stock

# The lines of a refrigerant's account, each with the kinds of holder outside the cylinders that it is about.
LINES: tuple[tuple[str, tuple[HolderKind, ...]], ...] = (
    ("Bought", (HolderKind.SUPPLIER,)),
    ("From and into appliances", (HolderKind.APPLIANCE,)),
    ("Sent to reclaimers", (HolderKind.RECLAIMER,)),
    ("Sent for destruction", (HolderKind.DESTRUCTION_FACILITY,)),
    ("Sold", (HolderKind.BUYER,)),
    ("Stock differences", (HolderKind.STOCK_DIFFERENCE,)),
    (
        "Opening and others",
        (HolderKind.OPENING_BALANCE, HolderKind.CUSTOMER, HolderKind.OTHER_CONTRACTOR),
    ),
)


@dataclass(frozen=True)
class CylinderRow:
    """One cylinder at the month's end: what its books gave, and its last weighing of the month if there was one."""

    cylinder: Cylinder
    book: dict[str, int]
    stock: WeighedStock | None

    @property
    def book_mg(self) -> int:
        """All that the books gave at the month's end."""
        return sum(self.book.values())


@dataclass
class RefrigerantAccount:
    """One refrigerant in all cylinders over the month; masses in mg, those that left below zero.

    Attributes:
        opening_mg: held when the month began.
        lines: line -> what came in less what went out by it.
        closing_mg: held when it ended.
        weighed_difference_mg: the sum of scale less books over the cylinders weighed.
        weighed_uncertainty_mg: the sum of the scales' uncertainties: all of them off the same way.
        all_holders_mg: the sum over every holder of the books at the month's end; zero, or they are broken.
    """

    refrigerant: str
    opening_mg: int = 0
    lines: dict[str, int] = field(default_factory=lambda: {line: 0 for line, _ in LINES})
    closing_mg: int = 0
    weighed_difference_mg: int = 0
    weighed_uncertainty_mg: int = 0
    all_holders_mg: int = 0

    @property
    def is_closed(self) -> bool:
        """Whether opening and lines come to the closing balance, and all holders to zero."""
        return self.opening_mg + sum(self.lines.values()) == self.closing_mg and self.all_holders_mg == 0


@dataclass(frozen=True)
class Reconciliation:
    """A month, from its first to its last day, or to today while it runs."""

    first_on: datetime.date
    last_on: datetime.date
    cylinders: list[CylinderRow]
    accounts: list[RefrigerantAccount]
    shipments: list[ReceivedShipment]

    @property
    def lines(self) -> list[str]:
        """The lines by which anything moved."""
        return [line for line, _ in LINES if any(account.lines[line] for account in self.accounts)]

    @property
    def account_rows(self) -> list[tuple[RefrigerantAccount, list[tuple[str, int]]]]:
        """Each account with its mass of each of those lines."""
        return [(account, [(line, account.lines[line]) for line in self.lines]) for account in self.accounts]

    @property
    def weighed(self) -> int:
        """How many cylinders were weighed."""
        return sum(row.stock is not None for row in self.cylinders)

    @property
    def beyond(self) -> int:
        """How many differ by more than the scale's uncertainty and were not adjusted."""
        stocks = [row.stock for row in self.cylinders if row.stock]
        return sum(not stock.is_within_uncertainty and stock.adjustment is None for stock in stocks)


def reconciliation(first_on: datetime.date, *, today: datetime.date) -> Reconciliation:
    """Reconcile the month that begins on ``first_on``.

    A cylinder is left out if it was empty by its books at the month's end, nothing moved and nobody weighed it.
    """
    end = calendar.monthrange(first_on.year, first_on.month)[1]
    last_on = min(first_on.replace(day=end), today)
    weighed = {
        stock.weighing.cylinder_id: stock
        for stock in weighed_stock(
            standing_weighings()
            .filter(happened_on__gte=first_on, happened_on__lte=last_on)
            .order_by("happened_on", "pk")
        )
    }
    balances = holder_balances(on=last_on)
    books: defaultdict[int, dict[str, int]] = defaultdict(dict)
    for (holder_id, refrigerant), mass_mg in balances.items():
        if mass_mg:
            books[holder_id][refrigerant] = mass_mg
    rows = [
        CylinderRow(
            cylinder, dict(sorted(books.get(cylinder.holder.pk, {}).items())), weighed.get(cylinder.pk)
        )
        for cylinder in Cylinder.objects.select_related("holder").order_by("serial_number")
    ]
    rows = [row for row in rows if row.book or row.stock]
    accounts = _accounts(first_on, last_on, balances)
    for row in rows:
        if row.stock and len(row.stock.book) < 2:  # noqa: PLR2004 -- a mixture is of no one refrigerant
            name = next(iter(row.stock.book), row.cylinder.refrigerant)
            if account := accounts.get(name):
                account.weighed_difference_mg += row.stock.difference_mg
                account.weighed_uncertainty_mg += row.stock.weighing.uncertainty_mg
    sorted_accounts = sorted(accounts.values(), key=lambda each: each.refrigerant)
    return Reconciliation(first_on, last_on, rows, sorted_accounts, shipments_of(first_on, last_on))


def _accounts(
    first_on: datetime.date, last_on: datetime.date, balances: dict[tuple[int, str], int]
) -> dict[str, RefrigerantAccount]:
    accounts: dict[str, RefrigerantAccount] = {}
    line_of = {kind.value: line for line, kinds in LINES for kind in kinds}
    moved = Transfer.objects.filter(happened_on__lte=last_on).values_list(
        "happened_on", "refrigerant", "mass_mg", "from_holder__kind", "to_holder__kind"
    )
    for happened_on, refrigerant, mass_mg, out_of, into in moved.iterator():
        account = accounts.setdefault(refrigerant, RefrigerantAccount(refrigerant))
        signed_mg = mass_mg * ((into == HolderKind.CYLINDER) - (out_of == HolderKind.CYLINDER))
        account.closing_mg += signed_mg
        if happened_on < first_on:
            account.opening_mg += signed_mg
        elif signed_mg:
            other = out_of if into == HolderKind.CYLINDER else into
            account.lines[line_of.get(other, LINES[-1][0])] += signed_mg
    for (_, refrigerant), mass_mg in balances.items():
        accounts[refrigerant].all_holders_mg += mass_mg
    return {
        name: account
        for name, account in accounts.items()
        if account.opening_mg or account.closing_mg or any(account.lines.values())
    }
