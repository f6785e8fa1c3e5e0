"""The ledger as a report reads it: transfers that stood at an instant, and what holders held on a day."""

import datetime
from collections import defaultdict
from dataclasses import dataclass

from django.db.models import Q, QuerySet, Sum

from jobs.models import Holder, HolderKind, Transfer
from jobs.selectors.ledger import holder_balances


def transfers_known(known_at: datetime.datetime) -> QuerySet[Transfer]:
    """Every transfer filed at or before an instant, reversals among them: their sums are what the books then said."""
    return Transfer.objects.filter(
        Q(event__filed_at__lte=known_at) | Q(stock_movement__filed_at__lte=known_at)
    ).order_by()


@dataclass
class Flow:
    """What came into all cylinders from a kind of holder, and what went there, in milligrams."""

    came_in_mg: int = 0
    went_out_mg: int = 0

    @property
    def net_mg(self) -> int:
        """What came in less what went out."""
        return self.came_in_mg - self.went_out_mg


Flows = dict[tuple[str, str], Flow]


def stock_flows(transfers: QuerySet[Transfer], begin: datetime.date, end: datetime.date) -> Flows:
    """What moved between all cylinders and other holders from one day to another, both in it.

    What was reversed counts for nothing, and from cylinder to cylinder neither.

    Returns:
        (designation, kind of the other holder) -> flow.
    """
    flows: defaultdict[tuple[str, str], Flow] = defaultdict(Flow)
    days = transfers.filter(happened_on__gte=begin, happened_on__lte=end)
    for side, other in (("to_holder", "from_holder"), ("from_holder", "to_holder")):
        cylinders = {f"{side}__kind": HolderKind.CYLINDER}
        rows = (
            days.annotate(is_first=Q(reverses=None))
            .filter(**cylinders)
            .exclude(**{f"{other}__kind": HolderKind.CYLINDER})
        )
        sums = rows.values_list("refrigerant", f"{other}__kind", "is_first").annotate(Sum("mass_mg"))
        for name, kind, is_first, mass_mg in sums:
            flow = flows[name, kind]
            # A reversal runs the other way: it takes back what first came in, or first went out.
            if (side == "to_holder") == is_first:
                flow.came_in_mg += mass_mg if is_first else -mass_mg
            else:
                flow.went_out_mg += mass_mg if is_first else -mass_mg
    return dict(flows)


def cylinders_hold(transfers: QuerySet[Transfer], day: datetime.date) -> defaultdict[int, dict[str, int]]:
    """What each cylinder held at the end of a day: cylinder id -> designation -> mg."""
    accounts = Holder.objects.filter(kind=HolderKind.CYLINDER)
    cylinder_of = dict(accounts.values_list("pk", "cylinder_id"))
    held: defaultdict[int, dict[str, int]] = defaultdict(dict)
    for (holder_id, name), mass_mg in holder_balances(holders=accounts, on=day, among=transfers).items():
        held[cylinder_of[holder_id]][name] = mass_mg
    return held


def stock_on(transfers: QuerySet[Transfer], day: datetime.date) -> dict[str, int]:
    """What all cylinders together held at the end of a day: designation -> mg."""
    stock: defaultdict[str, int] = defaultdict(int)
    for contents in cylinders_hold(transfers, day).values():
        for name, mass_mg in contents.items():
            stock[name] += mass_mg
    return dict(stock)
