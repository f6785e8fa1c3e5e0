"""The demo's checks of cylinder pressures: one that fits, and one of a recovery cylinder with air in it."""

from datetime import datetime, timedelta
from uuid import UUID

from jobs.models import Cylinder, CylinderKind
from jobs.physics.pressures import PA_PER_PSI, STANDARD_ATMOSPHERE_PA
from jobs.physics.tabled_saturation import tabled_at_temperature
from jobs.selectors.ledger import cylinder_contents
from jobs.services.pressure_checks import PressureReadings, pressure_check_file
from portal.accounts.models import User

SHOP_C = 22.5
# By how many psi each cylinder's gauge differs from what it should show, with the kind of cylinder.
STORIES = ((CylinderKind.REFILLABLE, 0.4, ""), (CylinderKind.RECOVERY, 31.0, "Set aside for reclamation."))


def file_pressure_checks(by: User, now: datetime) -> None:
    """File a check of the first cylinder of each kind that holds one refrigerant, the day before ``now``."""
    for number, (kind, extra_psi, note) in enumerate(STORIES):
        held = (
            (cylinder, contents)
            for cylinder in Cylinder.objects.filter(kind=kind)
            if len(contents := cylinder_contents(cylinder)) == 1
        )
        cylinder, contents = next(held, (None, {}))
        if cylinder is None:
            continue
        refrigerant = min(contents)
        expected_pa = tabled_at_temperature(refrigerant, SHOP_C).bubble.pressure_pa
        psig = (expected_pa - STANDARD_ATMOSPHERE_PA) / PA_PER_PSI + extra_psi
        pressure_check_file(
            by=by,
            cylinder=cylinder,
            checked_on=(now - timedelta(days=1)).date(),
            refrigerant=refrigerant,
            readings=PressureReadings(
                f"{SHOP_C} C", f"{psig:.0f} psig", "1", "2", "0", STANDARD_ATMOSPHERE_PA
            ),
            submission_id=UUID(int=number + 1),
            note=note,
            filed_at=now,
        )
