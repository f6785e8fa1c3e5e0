"""One cylinder as it stands: what it holds, what it may hold, what the scale should show, and what moved."""

import datetime
from collections.abc import Mapping
from dataclasses import dataclass

from django.db.models import Q, QuerySet

from compliance.rulebook.errors import InvalidInput as UnknownRefrigerant
from compliance.rulebook.refrigerants import Refrigerant, find
from compliance.rulebook.tables import Row, load_tables
from jobs.models import Cylinder, CylinderKind, CylinderMove, MoveReason, Transfer
from jobs.physics.errors import InvalidInput
from jobs.physics.fill_limits import FillLimit, mixed_max_net_mg
from jobs.selectors.contamination import marked_mixed
from jobs.selectors.cylinders import requalification_due_on
from jobs.selectors.ledger import cylinder_contents
from jobs.selectors.requalification import condemned

# How long before a cylinder's requalification runs out its page says so.
REQUALIFICATION_SOON = datetime.timedelta(days=90)


@dataclass(frozen=True)
class CylinderState:
    """A cylinder by its books on a day; masses in mg.

    Attributes:
        contents: designation -> mass held.
        marked: the refrigerants that are or may be in it if a record marks it as mixed; None if none does.
        limit: the most it may hold of what is in it, or of what it is dedicated to; None where no limit is known.
        requalification_due_on: the last day on which it may be filled; None without a test date.
        requalification: a status word: ``condemned``, ``overdue``, ``due_soon``, ``met`` or nothing.
        condemned_on: the day on which it was condemned; None if it wasn't.
        retired_on: the day on which it was taken out of use; None if it wasn't.
    """

    cylinder: Cylinder
    contents: Mapping[str, int]
    marked: frozenset[str] | None
    limit: FillLimit | None
    requalification_due_on: datetime.date | None
    requalification: str
    condemned_on: datetime.date | None
    retired_on: datetime.date | None

    @property
    def held_mg(self) -> int:
        """All that it holds."""
        return sum(self.contents.values())

    @property
    def gross_mg(self) -> int:
        """What a scale under it should show."""
        return self.cylinder.tare_mg + self.held_mg

    @property
    def is_refillable(self) -> bool:
        """Whether we may ever put refrigerant into it."""
        return self.cylinder.kind != CylinderKind.DISPOSABLE

    @property
    def may_be_filled(self) -> bool:
        """Whether refrigerant may go into it once its test is in date: not disposable, condemned or out of use."""
        return self.is_refillable and self.condemned_on is None and self.retired_on is None

    @property
    def cautioned(self) -> list[Refrigerant]:
        """One refrigerant of each safety class that is or may be in it, or else the one that it is dedicated to."""
        names = sorted({*self.contents, *(self.marked or ())}) or [self.cylinder.refrigerant]
        by_class = {one.safety_class: one for name in names if (one := _known(name))}
        return list(by_class.values())

    @property
    def is_mixed(self) -> bool:
        """Whether it holds more than one refrigerant, or is marked as mixed or contaminated."""
        return self.marked is not None or len(self.contents) > 1

    @property
    def marked_words(self) -> str:
        """The refrigerants that are or may be in a cylinder that is marked as mixed, as far as known."""
        return " and ".join(sorted(self.marked or ()))

    @property
    def room_mg(self) -> int | None:
        """How much may still go in; None where no limit is known."""
        return None if self.limit is None else max(self.limit.max_net_mg - self.held_mg, 0)

    @property
    def is_overfull(self) -> bool:
        """Whether it holds more than it may."""
        return self.limit is not None and self.held_mg > self.limit.max_net_mg


def cylinder_state(cylinder: Cylinder, *, today: datetime.date) -> CylinderState:
    """Return a cylinder as it stands today."""
    contents = dict(sorted(cylinder_contents(cylinder).items()))
    due_on = requalification_due_on(cylinder)
    marked = marked_mixed([cylinder.pk], on=today).get(cylinder.pk)
    condemned_on = condemned([cylinder.pk], on=today).get(cylinder.pk)
    return CylinderState(
        cylinder=cylinder,
        contents=contents,
        marked=marked,
        limit=_limit(cylinder, sorted({*contents, *(marked or ())}), today),
        requalification_due_on=due_on,
        requalification=requalification_status(due_on, today=today, is_condemned=condemned_on is not None),
        condemned_on=condemned_on,
        retired_on=_retired_on(cylinder, today),
    )


def _retired_on(cylinder: Cylinder, today: datetime.date) -> datetime.date | None:
    retired = CylinderMove.objects.filter(
        cylinder=cylinder, reason=MoveReason.RETIRED, withdrawal=None, happened_on__lte=today
    )
    return retired.values_list("happened_on", flat=True).order_by("happened_on").first()


def _known(designation: str) -> Refrigerant | None:
    try:
        return find(designation) if designation else None
    except UnknownRefrigerant:
        return None


def requalification_status(
    due_on: datetime.date | None, *, today: datetime.date, is_condemned: bool = False
) -> str:
    """Say in a status word how a cylinder's requalification stands."""
    if is_condemned:
        return "condemned"
    if due_on is None:
        return ""
    if today > due_on:
        return "overdue"
    return "due_soon" if today >= due_on - REQUALIFICATION_SOON else "met"


def cylinder_movements(cylinder: Cylinder) -> QuerySet[Transfer]:
    """List a cylinder's transfers, newest first, with the record that each was filed by and both holders."""
    return (
        Transfer.objects.filter(Q(from_holder__cylinder=cylinder) | Q(to_holder__cylinder=cylinder))
        .select_related(
            *("event", "stock_movement", "from_holder__cylinder", "to_holder__cylinder"),
            *("from_holder__appliance__site", "to_holder__appliance__site"),
        )
        .order_by("-happened_on", "-pk")
    )


def _limit(cylinder: Cylinder, held: list[str], today: datetime.date) -> FillLimit | None:
    refrigerants = held or [name for name in (cylinder.refrigerant,) if name]
    if not refrigerants or cylinder.kind == CylinderKind.DISPOSABLE:
        return None
    try:
        return mixed_max_net_mg(refrigerants, cylinder.water_capacity_mg, on=today)
    except InvalidInput:
        return None


def heel_removal_row(today: datetime.date) -> Row:
    """From which day a disposable cylinder's heel must be removed before disposal (40 CFR 84.116)."""
    return load_tables().row("us-federal-cylinders", "heel_removal_required_from", on=today)
