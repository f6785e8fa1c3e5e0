"""Cylinders with what they hold, what room is left, and when they are due for requalification."""

import datetime
from collections.abc import Iterable, Mapping

from django.db.models import Case, IntegerField, Q, QuerySet, When

from compliance.rulebook import requalification as rulebook
from compliance.rulebook.grounds import from_memory_in_words
from jobs.models import Cylinder, CylinderKind, CylinderMove, MoveReason, RequalificationResult
from jobs.physics.errors import InvalidInput
from jobs.physics.fill_limits import max_net_mg, mixed_max_net_mg, supplied_doubts, supplied_max_net_mg
from jobs.selectors.ledger import cylinder_contents, cylinder_holder_mg
from jobs.selectors.requalification import standing_tests

# How much compressed gas a cylinder may hold.
FILLING_RULE = "49 CFR 173.304a"


def cylinder_list(*, search: str = "", due_by: datetime.date | None = None) -> QuerySet[Cylinder]:
    """List cylinders with ``contents_mg``, what each holds of all refrigerants by its books.

    Args:
        search: part of a serial number, refrigerant, specification or place; all unless given.
        due_by: only those whose requalification is due by then, or past due, soonest first; disposable ones have none.
    """
    cylinders = Cylinder.objects.select_related("holder").annotate(contents_mg=cylinder_holder_mg())
    if search := search.strip():
        cylinders = cylinders.filter(
            Q(serial_number__icontains=search)
            | Q(refrigerant__icontains=search)
            | Q(specification__icontains=search)
            | Q(place_note__icontains=search)
        )
    if due_by is None:
        return cylinders.order_by("serial_number")
    due = _due_by(due_by)
    soonest = Case(
        *(When(pk=pk, then=position) for position, pk in enumerate(due)), output_field=IntegerField()
    )
    return cylinders.filter(pk__in=due).order_by(soonest)


def cylinders_to_requalify() -> QuerySet[Cylinder]:
    """Cylinders with a test date that are to be tested again: none that is disposable, condemned or out of use."""
    watched = Cylinder.objects.exclude(kind=CylinderKind.DISPOSABLE).exclude(requalified_on=None)
    retired = CylinderMove.objects.filter(reason=MoveReason.RETIRED, withdrawal=None).values("cylinder")
    condemned = standing_tests().filter(result=RequalificationResult.CONDEMNED).values("cylinder")
    return watched.exclude(pk__in=retired).exclude(pk__in=condemned)


def _due_by(day: datetime.date) -> list[int]:
    """Ids of the cylinders due for requalification by a day, soonest first."""
    due = [(requalification_due_on(cylinder), cylinder.pk) for cylinder in cylinders_to_requalify()]
    return [pk for due_on, pk in sorted((on, pk) for on, pk in due if on is not None) if due_on <= day]


def fill_limit_mg(cylinder: Cylinder, refrigerant: str, *, on: datetime.date | None = None) -> int | None:
    """The most of one refrigerant that the cylinder may hold by the rules of a day, in mg; None where none is known."""
    try:
        return max_net_mg(refrigerant, cylinder.water_capacity_mg, on=on).max_net_mg
    except InvalidInput:
        return None


def mixed_limit_mg(
    cylinder: Cylinder, refrigerants: Iterable[str], *, on: datetime.date | None = None
) -> int | None:
    """The most of a mixture that the cylinder may hold, in mg; None where no limit is known of one of its parts."""
    try:
        return mixed_max_net_mg(sorted(refrigerants), cylinder.water_capacity_mg, on=on).max_net_mg
    except InvalidInput:
        return None


def delivery_limit_mg(cylinder: Cylinder, refrigerant: str, *, on: datetime.date | None = None) -> int | None:
    """The most of one refrigerant that the cylinder may have come filled with, in mg; None where no limit is known.

    Suppliers fill up to what the rules of transport allow; a recovery cylinder is filled by firms like ours alone.
    """
    if cylinder.kind == CylinderKind.RECOVERY:
        return fill_limit_mg(cylinder, refrigerant, on=on)
    try:
        return supplied_max_net_mg(refrigerant, cylinder.water_capacity_mg, on=on)
    except InvalidInput:
        return None


def limit_doubts(refrigerants: Iterable[str], *, is_delivery: bool, on: datetime.date) -> str:
    """A sentence on which rules behind a limit were recalled from memory; empty where all were read, or none is known.

    Args:
        refrigerants: what the cylinder holds or may hold.
        is_delivery: whether the limit is the supplier's; else it is ours.
        on: the day of the filling.
    """
    designations = sorted(refrigerants)
    try:
        if is_delivery:
            found = [doubt for name in designations for doubt in supplied_doubts(name, on=on)]
        else:
            found = list(mixed_max_net_mg(designations, 1, on=on).doubts)
    except InvalidInput:
        return ""
    return "".join(f" {sentence}" for sentence in from_memory_in_words(found))


def fill_room(cylinder: Cylinder, refrigerant: str, contents: Mapping[str, int] | None = None) -> int | None:
    """How much of a refrigerant may still go into the cylinder, in mg; None where no limit is known.

    Nothing goes into a disposable cylinder, nor one dedicated to or holding another refrigerant.

    Args:
        cylinder: the one to fill.
        refrigerant: ASHRAE 34 designation.
        contents: what it holds, designation -> mg, where the caller has read it for many; read if None.
    """
    contents = cylinder_contents(cylinder) if contents is None else contents
    if (
        cylinder.kind == CylinderKind.DISPOSABLE
        or cylinder.refrigerant not in ("", refrigerant)
        or contents.keys() - {refrigerant}
    ):
        return 0
    limit_mg = fill_limit_mg(cylinder, refrigerant)
    return None if limit_mg is None else max(limit_mg - contents.get(refrigerant, 0), 0)


def requalification_due_on(cylinder: Cylinder) -> datetime.date | None:
    """The last day on which the cylinder may be filled; None if no test date is on record."""
    if cylinder.requalified_on is None:
        return None
    return rulebook.requalification_due_on(cylinder.requalified_on, cylinder.requalification_period_years)
