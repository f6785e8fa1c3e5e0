"""Appliances and recovery machines as the rules of evacuation see them, and the pressure of the air at a site."""

from decimal import Decimal

from compliance.rulebook.appliance_class import Circuit
from compliance.rulebook.recovery_machines import Machine
from compliance.rulebook.refrigerants import find
from jobs.models import Appliance, RecoveryMachine, Site
from jobs.physics.pressures import standard_atmosphere_pa
from jobs.selectors.appliances import Charge

PA_PER_KPA = 1000
_PASCAL = Decimal("0.001")


def circuit_of(appliance: Appliance, charge: Charge) -> Circuit:
    """The appliance with a charge in force.

    Args:
        appliance: as registered.
        charge: its refrigerant, a known designation, and its full charge.
    """
    return Circuit(
        refrigerant=find(charge.refrigerant),
        full_charge_mg=charge.full_charge_mg,
        is_hermetically_sealed=appliance.is_hermetically_sealed,
        is_mvac_like=appliance.is_mvac_like,
    )


def machine_of(machine: RecoveryMachine) -> Machine:
    """The recovery machine as the rules see it."""
    return Machine(
        made_on=machine.made_on,
        is_certified=bool(machine.certified_by.strip()),
        is_system_dependent=machine.is_system_dependent,
        is_pump_out_unit=machine.is_pump_out_unit,
    )


def site_atmosphere_kpa(site: Site) -> Decimal:
    """The air's pressure at a site by the standard atmosphere, kPa to the pascal; at sea level if it isn't known."""
    return Decimal(standard_atmosphere_pa(site.altitude_m or 0) / PA_PER_KPA).quantize(_PASCAL)
