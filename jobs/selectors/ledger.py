"""What each holder holds: sums over the ledger, never stored."""

import datetime
from collections import defaultdict

from django.db.models import BigIntegerField, OuterRef, Q, QuerySet, Subquery, Sum
from django.db.models.expressions import Combinable
from django.db.models.functions import Coalesce

from jobs.models import Appliance, Cylinder, Holder, Transfer
from jobs.selectors.events import OF_STANDING_EVENT


def holder_balances(
    *,
    holders: QuerySet[Holder] | None = None,
    on: datetime.date | None = None,
    among: QuerySet[Transfer] | None = None,
) -> dict[tuple[int, str], int]:
    """Sum what came into each holder less what left it.

    Args:
        holders: of these alone; of all unless given.
        on: counting transfers up to and including this date; all unless given.
        among: counting these transfers alone; all unless given.

    Returns:
        (holder id, designation) -> mg. Over all holders, the masses of one refrigerant sum to zero.
    """
    transfers = (Transfer.objects.all() if among is None else among).order_by()
    if on is not None:
        transfers = transfers.filter(happened_on__lte=on)
    balances: defaultdict[tuple[int, str], int] = defaultdict(int)
    for side, sign in (("to_holder", 1), ("from_holder", -1)):
        rows = transfers if holders is None else transfers.filter(**{f"{side}__in": holders})
        for holder_id, refrigerant, mass_mg in rows.values_list(side, "refrigerant").annotate(Sum("mass_mg")):
            balances[holder_id, refrigerant] += sign * mass_mg
    return dict(balances)


def refrigerant_totals() -> dict[str, int]:
    """Sum the balances of all holders for each refrigerant: zero each, or the books are broken."""
    totals: defaultdict[str, int] = defaultdict(int)
    for (_, refrigerant), mass_mg in holder_balances().items():
        totals[refrigerant] += mass_mg
    return dict(totals)


def cylinder_contents(cylinder: Cylinder, on: datetime.date | None = None) -> dict[str, int]:
    """What a cylinder holds by its books: designation -> mg, nothing for what it no longer holds."""
    return _contents(Q(cylinder=cylinder), on)


def appliance_book_mg(
    appliance: Appliance, on: datetime.date | None = None, among: QuerySet[Transfer] | None = None
) -> int:
    """What an appliance holds by its books, in mg; what stands above its full charge has been lost.

    Args:
        appliance: the one asked about.
        on: counting transfers up to and including this date; all unless given.
        among: counting these transfers alone; all unless given.
    """
    return sum(_contents(Q(appliance=appliance), on, among).values())


def last_move_on_visits(appliance: Appliance, *, until: datetime.date) -> Transfer | None:
    """The last transfer into or out of an appliance that a standing service event tells of, up to and with a day."""
    touching = Q(from_holder__appliance=appliance) | Q(to_holder__appliance=appliance)
    moves = Transfer.objects.filter(
        OF_STANDING_EVENT, touching, reverses=None, event__happened_on__lte=until
    ).select_related("from_holder")
    filed = Coalesce("event__original", "event", output_field=BigIntegerField())
    return moves.order_by("-event__happened_on", filed.desc(), "-position").first()


def _contents(
    condition: Q, on: datetime.date | None, among: QuerySet[Transfer] | None = None
) -> dict[str, int]:
    balances = holder_balances(holders=Holder.objects.filter(condition), on=on, among=among)
    return {refrigerant: mass_mg for (_, refrigerant), mass_mg in balances.items() if mass_mg}


def cylinder_holder_mg() -> Combinable:
    """An annotation for cylinders: what each holds of all refrigerants, in mg, in the same query."""
    came_in, went_out = (_moved("to_holder"), _moved("from_holder"))
    return came_in - went_out


def _moved(side: str) -> Coalesce:
    moved = (
        Transfer.objects.filter(**{f"{side}__cylinder": OuterRef("pk")})
        .order_by()
        .values(f"{side}__cylinder")
    )
    return Coalesce(
        Subquery(moved.annotate(moved_mg=Sum("mass_mg")).values("moved_mg")),
        0,
        output_field=BigIntegerField(),
    )
