"""Refuses what a cylinder can't give or may not take; shared by service events and movements of stock."""

import datetime

from compliance.rulebook.masses import format_mass
from compliance.rulebook.requalification import is_non_refillable, requalification_due_on
from jobs.models import Cylinder, CylinderKind
from jobs.selectors.cylinders import (
    FILLING_RULE,
    delivery_limit_mg,
    fill_limit_mg,
    limit_doubts,
    mixed_limit_mg,
)
from jobs.services.cylinder_books import BookRow, CylinderBook
from jobs.services.refusals import Refusals

# No liquid refrigerant of ASHRAE 34 is denser than this many times water; from memory (R-13I1, about 2.1 at 25 °C).
# It bounds typing errors where no fill limit is known, and is no permission to fill that far.
DENSEST_LIQUID_TO_WATER = 2.2

DISPOSABLE_RULE = "49 CFR 178.65"
REQUALIFICATION_RULE = "49 CFR 180.205(c)"
CONDEMNED_RULE = "49 CFR 180.205(i)"

OVERFILLED = (
    " If the scale shows more, the cylinder is overfilled: a cylinder full of liquid bursts when it warms. Keep it "
    "cool, don't move it by road, and bring it to its limit by the procedure you are trained for; then file it."
)


def volumetric_bound_mg(cylinder: Cylinder) -> int:
    """The mass that no refrigerant can exceed in the cylinder, even when it is full of liquid; no safe fill."""
    return int(cylinder.water_capacity_mg * DENSEST_LIQUID_TO_WATER)


def check_days_after(refusals: Refusals, book: CylinderBook, day: datetime.date, *, field: str) -> None:
    """Note the first day after ``day`` on which the cylinder would hold less than nothing, or a mixture."""
    for later_day, contents in book.contents_after(day):
        if any(mass_mg < 0 for mass_mg in contents.values()):
            what = "hold less than nothing"
        elif len(contents) > 1 and not book.is_marked_mixed_on(later_day):
            what = f"hold {' and '.join(sorted(contents))} mixed"
        else:
            continue
        expected = (
            f"With this, cylinder {book.cylinder} would {what} on {later_day}, by records already filed. "
            "If one of those is wrong, amend it first."
        )
        refusals.add(field, book.cylinder, expected)
        return


class ContentsMove:
    """One movement that is about to be filed on a locked cylinder, and the fields that its refusals name."""

    def __init__(
        self, book: CylinderBook, row: BookRow, *, mass_field: str, cylinder_field: str = ""
    ) -> None:
        self.book = book
        self.cylinder = book.cylinder
        self.row = row
        self.mass_field = mass_field
        self.cylinder_field = cylinder_field or mass_field

    @property
    def _given(self) -> object:
        """What was typed into the box that refusals of the cylinder stand beside."""
        if self.cylinder_field == "refrigerant":
            return self.row.refrigerant
        return self.cylinder if self.cylinder_field != self.mass_field else format_mass(abs(self.row.mass_mg))

    def check_draw(self, refusals: Refusals) -> None:
        """Note what forbids drawing the mass, then enter it so that the next move counts it."""
        contents = self.book.contents_on(self.row.happened_on)
        held_mg = contents.get(self.row.refrigerant, 0)
        others = sorted(contents.keys() - {self.row.refrigerant})
        if not held_mg and others:
            expected = f"Cylinder {self.cylinder} holds {' and '.join(others)}, not {self.row.refrigerant}."
            refusals.add(self.cylinder_field, self._given, expected)
        elif -self.row.mass_mg > held_mg:
            expected = (
                f"Expected at most {format_mass(held_mg)}: that is all that cylinder {self.cylinder} holds of "
                f"{self.row.refrigerant} on {self.row.happened_on}, counting what stands before this."
            )
            refusals.add(self.mass_field, format_mass(-self.row.mass_mg), expected)
        self.book.add(self.row)

    def check_reuse(self, refusals: Refusals) -> None:
        """Note if what is in the cylinder may only be reclaimed or destroyed, because it is mixed."""
        if (mixed := self.book.mixed_on(self.row.happened_on)) is not None:
            of = f" of {' and '.join(sorted(mixed))}" if mixed else ""
            expected = (
                f"Cylinder {self.cylinder} is marked as mixed or contaminated{of}: it goes to reclamation or "
                "destruction, and nothing of it into an appliance, a sale or another cylinder."
            )
            refusals.add(self.cylinder_field, self._given, expected)

    def check_match(self, refusals: Refusals) -> None:
        """Note if the cylinder is dedicated to another refrigerant or holds one: nothing is mixed unawares."""
        if self.book.mixed_on(self.row.happened_on) is not None:
            expected = (
                f"Cylinder {self.cylinder} is marked as mixed or contaminated; nothing good goes into it."
            )
            refusals.add(self.cylinder_field, self._given, expected)
        elif self.cylinder.refrigerant not in ("", self.row.refrigerant):
            dedicated_to = self.cylinder.refrigerant
            expected = f"Cylinder {self.cylinder} is dedicated to {dedicated_to}, not {self.row.refrigerant}."
            refusals.add(self.cylinder_field, self._given, expected)
        elif others := sorted(self.book.contents_on(self.row.happened_on).keys() - {self.row.refrigerant}):
            held = " and ".join(others)
            expected = (
                f"Cylinder {self.cylinder} holds {held}; {self.row.refrigerant} must not be mixed in. "
                "If it has happened, mark the cylinder as mixed on its page first."
            )
            refusals.add(self.cylinder_field, self._given, expected)

    def check_fill(self, refusals: Refusals) -> None:
        """Note what forbids filling the cylinder, then enter the fill; one marked as mixed may take any refrigerant."""
        on = self.row.happened_on
        mixed = self.book.mixed_on(on)
        holds = (mixed or frozenset()) | {self.row.refrigerant}
        if mixed is None:
            self.check_match(refusals)
            limit_mg = fill_limit_mg(self.cylinder, self.row.refrigerant, on=on)
        else:
            limit_mg = mixed_limit_mg(self.cylinder, holds, on=on)
        if (retired_on := self.book.retired_on) and self.row.happened_on >= retired_on:
            expected = f"Cylinder {self.cylinder} was taken out of use on {retired_on}."
            refusals.add(self.cylinder_field, self._given, expected)
        if self.cylinder.kind == CylinderKind.DISPOSABLE or is_non_refillable(self.cylinder.specification):
            expected = f"Cylinder {self.cylinder} is disposable: never refilled, never used for recovery."
            refusals.add(self.cylinder_field, self._given, expected, DISPOSABLE_RULE)
        else:
            self._check_condemned(refusals)
            self._check_requalification(refusals)
            doubts = limit_doubts(holds, is_delivery=False, on=on)
            self._check_room(refusals, limit_mg, warning=doubts)
        self.book.add(self.row)

    def check_delivery(self, refusals: Refusals) -> None:
        """Note what forbids that the cylinder came with this from elsewhere, then enter it."""
        self.check_match(refusals)
        self._check_condemned(refusals)
        if self.cylinder.kind == CylinderKind.DISPOSABLE and self.book.rows:
            expected = f"Cylinder {self.cylinder} is disposable and was filled once already."
            refusals.add(self.cylinder_field, self._given, expected, DISPOSABLE_RULE)
        on = self.row.happened_on
        limit_mg = delivery_limit_mg(self.cylinder, self.row.refrigerant, on=on)
        is_own_limit = limit_mg == fill_limit_mg(self.cylinder, self.row.refrigerant, on=on)
        allows = "may hold" if is_own_limit else "may come filled with"
        doubts = limit_doubts([self.row.refrigerant], is_delivery=not is_own_limit, on=on)
        self._check_room(refusals, limit_mg, allows=allows, warning=f"{OVERFILLED}{doubts}")
        self.book.add(self.row)

    def check_later_days(self, refusals: Refusals) -> None:
        """Note if records already filed for later days can't be true together with this one."""
        check_days_after(refusals, self.book, self.row.happened_on, field=self.mass_field)

    def _check_condemned(self, refusals: Refusals) -> None:
        condemned_on = self.book.tests.condemned_on
        if condemned_on and self.row.happened_on >= condemned_on:
            expected = (
                f"Cylinder {self.cylinder} was condemned on {condemned_on} and may never be filled again. What it "
                "holds is taken out of it."
            )
            refusals.add(self.cylinder_field, self._given, expected, CONDEMNED_RULE)

    def _check_requalification(self, refusals: Refusals) -> None:
        tested_on = self.book.tests.requalified_on(self.row.happened_on)
        period = self.cylinder.requalification_period_years
        due_on = requalification_due_on(tested_on, period) if tested_on else None
        if due_on is None:
            expected = (
                f"Cylinder {self.cylinder} has no test date on record; enter the one stamped on it first."
            )
        elif self.row.happened_on > due_on:
            expected = (
                f"Cylinder {self.cylinder} was due for requalification by {due_on} and may not be filled. "
                "What it holds may still be used until it is empty."
            )
        else:
            return
        refusals.add(self.cylinder_field, self._given, expected, REQUALIFICATION_RULE)

    def _check_room(
        self, refusals: Refusals, limit_mg: int | None, *, allows: str = "may hold", warning: str = ""
    ) -> None:
        held_mg = self.book.most_held_mg(self.row.happened_on)
        bound_mg = volumetric_bound_mg(self.cylinder) if limit_mg is None else limit_mg
        if held_mg + self.row.mass_mg <= bound_mg:
            return
        room = format_mass(max(bound_mg - held_mg, 0))
        if limit_mg is None:
            expected = (
                f"Expected at most {room}: more does not fit into cylinder {self.cylinder}, even full of liquid. "
                "This bound is no safe fill."
            )
        else:
            expected = (
                f"Expected at most {room}: cylinder {self.cylinder} holds {format_mass(held_mg)} and {allows} "
                f"{format_mass(bound_mg)} of {self.row.refrigerant}."
            )
        refusals.add(self.mass_field, format_mass(self.row.mass_mg), f"{expected}{warning}", FILLING_RULE)
