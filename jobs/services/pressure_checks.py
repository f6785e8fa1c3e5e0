"""Files checks of a cylinder's pressure for gases that don't condense."""

import datetime
from dataclasses import asdict, dataclass
from uuid import UUID

from django.utils import timezone

from jobs.models import Cylinder, CylinderPressureCheck
from jobs.physics.errors import InvalidInput
from jobs.selectors.properties import cylinder_pressure_asked
from jobs.services.chain import chain_extend
from jobs.services.once import file_once
from jobs.services.refusals import Refusals, known_designation
from portal.accounts.models import User


@dataclass(frozen=True)
class PressureReadings:
    """What was read at a cylinder, as typed: ``77 F``, ``95 psig``, doubts in psi and °F, vapour drawn in percent."""

    temperature: str
    pressure: str
    gauge_doubt_psi: str
    temperature_doubt_f: str
    vapour_drawn_pct: str
    atmosphere_pa: float


def pressure_check_file(
    *,
    by: User,
    cylinder: Cylinder,
    checked_on: datetime.date,
    refrigerant: str,
    readings: PressureReadings,
    submission_id: UUID,
    note: str = "",
    filed_at: datetime.datetime | None = None,
) -> CylinderPressureCheck:
    """File a check of a resting cylinder; the same submission twice is filed once.

    Raises:
        SubmissionRefused: a reading that can't be, a refrigerant whose pressure is not known, a day in the future, or
            the same form was filed with other readings.
    """
    filed_at = filed_at or timezone.now()
    refusals = Refusals()
    refrigerant = known_designation(refusals, "refrigerant", refrigerant)
    refusals.check_day("checked_on", checked_on, latest=timezone.localdate(filed_at))
    refusals.raise_any()
    try:
        check = cylinder_pressure_asked(refrigerant=refrigerant, **asdict(readings))
    except InvalidInput as problem:
        typed = getattr(readings, problem.field, problem.value)
        refusals.add(problem.field, typed, f"Expected {problem.expected}.")
        refusals.raise_any()

    def file() -> CylinderPressureCheck:
        locked = Cylinder.objects.select_for_update(no_key=True).get(pk=cylinder.pk)
        first = CylinderPressureCheck.objects.filter(submission_id=submission_id).first()
        if first is not None:
            _check_same(first, locked, asdict(readings))
            return first
        row = CylinderPressureCheck.objects.create(
            submission_id=submission_id,
            cylinder=locked,
            checked_on=checked_on,
            refrigerant=refrigerant,
            readings=asdict(readings),
            verdict=check.verdict.value,
            because=f"{check.because} Model: {check.model}. {check.accuracy}",
            note=note.strip(),
            filed_at=filed_at,
            filed_by=by,
        )
        chain_extend(row, [locked])
        return row

    return file_once(CylinderPressureCheck, submission_id, file)


def _check_same(first: CylinderPressureCheck, cylinder: Cylinder, readings: dict[str, object]) -> None:
    if first.cylinder_id != cylinder.pk or first.readings != readings:
        refusals = Refusals()
        expected = (
            f"This form was filed before with other readings: {first}. For another check, open a new form."
        )
        refusals.add("pressure", readings["pressure"], expected)
        refusals.raise_any()
