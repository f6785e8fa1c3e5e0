"""Files where a cylinder was taken, by whom and why; the register's place follows the newest move."""

from dataclasses import dataclass
from typing import Unpack

from jobs.models import (
    Cylinder,
    CylinderKind,
    CylinderMove,
    CylinderPlace,
    MoveReason,
    Site,
    StockMovement,
    Technician,
)
from jobs.selectors.container_disposal import container_disposal_row, is_heel_removed
from jobs.services.cylinder_books import CylinderBook
from jobs.services.cylinder_records import RecordFields, RecordPaper, record_file
from jobs.services.refusals import Refusals
from portal.accounts.models import User

EMPTY_REASONS = (MoveReason.CAME_BACK, MoveReason.RETURNED_EMPTY, MoveReason.RETIRED)
AWAY_REASONS = (MoveReason.SENT, MoveReason.RETURNED_EMPTY)
OWN_REASONS = (MoveReason.ACQUIRED, MoveReason.CAME_BACK)


@dataclass(frozen=True)
class MoveEntry:
    """What is typed of a move; ``movement`` is the shipment or sale that the cylinder goes along with.

    A van needs ``technician``, a site ``site``, another firm ``firm_name``.
    """

    place: str
    moved_by: str
    reason: str = MoveReason.WORK
    technician: Technician | None = None
    site: Site | None = None
    firm_name: str = ""
    movement: StockMovement | None = None


def cylinder_move_record(
    *, by: User, cylinder: Cylinder, entry: MoveEntry, **fields: Unpack[RecordFields]
) -> CylinderMove:
    """File that a cylinder was moved.

    Args:
        by: who files.
        cylinder: what was moved.
        entry: where to, by whom and why; to come back or be given back empty, or retired, its books must show nothing.
        fields: happened_on, and if known note, submission_id, filed_at.

    Raises:
        SubmissionRefused: a field is not valid; names each.
    """
    paper = RecordPaper(by, cylinder, **fields)
    names = {
        CylinderPlace.VAN.value: ("technician", f"{entry.technician}’s van" if entry.technician else ""),
        CylinderPlace.SITE.value: ("site", str(entry.site) if entry.site else ""),
        CylinderPlace.AWAY.value: ("firm_name", entry.firm_name.strip()),
    }

    def build(refusals: Refusals, book: CylinderBook) -> CylinderMove:
        field, place_note = names.get(entry.place, ("", ""))
        if field and not place_note:
            refusals.add(field, "", "Expected which one: it was moved there.")
        if not entry.moved_by.strip():
            refusals.add("moved_by", entry.moved_by, "Expected who moved it.")
        _check_reason(refusals, book, paper, entry)
        former = _move_before(book.cylinder, paper) or book.cylinder
        if entry.reason == MoveReason.WORK and (former.place, former.place_note) == (entry.place, place_note):
            refusals.add(
                "place", entry.place, f"Expected another place: cylinder {book.cylinder} is there already."
            )
        return CylinderMove(
            reason=entry.reason,
            place=entry.place,
            place_note=place_note,
            technician=entry.technician if field == "technician" else None,
            site=entry.site if field == "site" else None,
            moved_by=entry.moved_by.strip(),
            from_place=former.place,
            from_place_note=former.place_note,
            movement=entry.movement,
        )

    return record_file(
        CylinderMove, paper, build, follow=lambda move: cylinder_keep_place(by=by, cylinder=move.cylinder)
    )


def cylinder_keep_place(*, by: User, cylinder: Cylinder) -> None:
    """Let the register say where the newest standing move took the cylinder, or where it was before all of them."""
    moves = CylinderMove.objects.filter(cylinder=cylinder).order_by("happened_on", "pk")
    standing = moves.filter(withdrawal=None).last()
    first = moves.order_by("pk").first()
    if standing:
        place, place_note = standing.place, standing.place_note
    elif first:
        place, place_note = first.from_place, first.from_place_note
    else:
        return
    if (cylinder.place, cylinder.place_note) != (place, place_note):
        cylinder.place, cylinder.place_note = place, place_note
        # simple_history takes it from here where no request is at hand.
        cylinder._history_user = by  # type: ignore[attr-defined]  # noqa: SLF001
        cylinder.save()


def _check_heel(refusals: Refusals, book: CylinderBook, paper: RecordPaper) -> None:
    """Note if a disposable cylinder goes without its heel removed, where the law of a site that it served bars that."""
    on = paper.happened_on
    if book.cylinder.kind != CylinderKind.DISPOSABLE or is_heel_removed(book.cylinder, on=on):
        return
    if row := container_disposal_row(book.cylinder, on=on):
        expected = f"{row.value} Expected a record that its heel was removed, by that day."
        refusals.add("reason", MoveReason.RETIRED.label, expected, row.citation)


def _move_before(cylinder: Cylinder, paper: RecordPaper) -> CylinderMove | None:
    moves = CylinderMove.objects.filter(
        cylinder=cylinder, withdrawal=None, happened_on__lte=paper.happened_on
    )
    return moves.order_by("happened_on", "pk").last()


def _check_reason(refusals: Refusals, book: CylinderBook, paper: RecordPaper, entry: MoveEntry) -> None:
    reason, place = entry.reason, entry.place
    if reason in AWAY_REASONS and place != CylinderPlace.AWAY:
        refusals.add("place", place, "Expected another firm: it was sent or given back to one.")
    if reason in OWN_REASONS and place == CylinderPlace.AWAY:
        refusals.add("place", place, "Expected the shop, a van or a site: it came to us.")
    held = book.contents_on(paper.happened_on)
    if reason in EMPTY_REASONS and held:
        expected = (
            f"Cylinder {book.cylinder} holds {' and '.join(sorted(held))} by its books on that day. File what left it "
            "first; a difference to the scale is adjusted by the compliance officer."
        )
        refusals.add("reason", MoveReason(reason).label, expected)
    elif reason == MoveReason.RETIRED:
        _check_heel(refusals, book, paper)
    if book.retired_on and paper.happened_on >= book.retired_on:
        expected = f"Cylinder {book.cylinder} was taken out of use on {book.retired_on}."
        refusals.add("happened_on", paper.happened_on, expected)
