"""Files that a cylinder was weighed: evidence beside the books, which it doesn't change."""

from decimal import Decimal
from typing import Unpack

from compliance.rulebook.masses import format_mass
from jobs.models import Cylinder, CylinderWeighing, Instrument
from jobs.services.cylinder_books import CylinderBook
from jobs.services.cylinder_limits import volumetric_bound_mg
from jobs.services.cylinder_records import RecordFields, RecordPaper, record_file
from jobs.services.entries import EnteredMass
from jobs.services.refusals import Refusals
from portal.accounts.models import User


def cylinder_weighing_record(
    *,
    by: User,
    cylinder: Cylinder,
    gross: EnteredMass,
    uncertainty: EnteredMass | None = None,
    scale: Instrument | None = None,
    **fields: Unpack[RecordFields],
) -> CylinderWeighing:
    """File a weighing of a whole cylinder.

    Args:
        by: who files.
        cylinder: what stood on the scale, with nothing connected to it.
        gross: the scale's reading.
        uncertainty: how far the scale may be off, either way; if None, what its maker says of ``scale``.
        scale: the one it stood on, if it is on record.
        fields: happened_on, and if known note, submission_id, filed_at.

    Raises:
        SubmissionRefused: the reading is less than the empty cylinder weighs, or more than it can hold, or nothing
            says how far the scale may be off.
    """
    paper = RecordPaper(by, cylinder, **fields)

    def build(refusals: Refusals, book: CylinderBook) -> CylinderWeighing:
        tare_mg = book.cylinder.tare_mg
        most_mg = tare_mg + volumetric_bound_mg(book.cylinder)
        off_mg = uncertainty.mass_mg if uncertainty else scale_uncertainty_mg(scale, gross.mass_mg)
        if off_mg is None:
            refusals.add(
                "uncertainty", "", "Expected how far the scale may be off, or a scale on record that says so."
            )
            off_mg = 0
        if gross.mass_mg + off_mg < tare_mg:
            expected = (
                f"Expected {format_mass(tare_mg)} or more, the tare on record. If the scale is right, the tare is not: "
                "the office changes it from what is stamped."
            )
            refusals.add("gross", str(gross), expected)
        elif gross.mass_mg > most_mg:
            expected = f"Expected at most {format_mass(most_mg)}: full of liquid it weighs no more."
            refusals.add("gross", str(gross), expected)
        return CylinderWeighing(
            gross_mg=gross.mass_mg,
            gross_entered=gross.value,
            gross_unit=gross.unit,
            uncertainty_mg=off_mg,
            tare_mg=tare_mg,
            scale=scale,
        )

    return record_file(CylinderWeighing, paper, build)


def scale_uncertainty_mg(scale: Instrument | None, gross_mg: int) -> int | None:
    """How far a scale on record may be off at a reading, in mg: its maker's accuracy, and its division at least.

    That a reading is no better than the division is common practice, no source.

    Returns:
        None where no scale is named or nothing is on record of it.
    """
    if scale is None or scale.division_mg is None:
        return None
    share_mg = int(Decimal(gross_mg) * (scale.accuracy_pct or 0) / 100)
    return max((scale.accuracy_mg or 0) + share_mg, scale.division_mg)
