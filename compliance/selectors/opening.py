"""What the law asks for before a circuit is opened: in numbers for the site's gauges, and whether it was reached."""

import datetime
from dataclasses import dataclass
from decimal import Decimal

from compliance.rulebook.appliance_class import Circuit
from compliance.rulebook.errors import InvalidInput
from compliance.rulebook.evacuation import EvacuationRequirement, required_evacuation
from compliance.rulebook.evacuation_levels import GaugeReading, Level, gauge_reading, is_reached
from compliance.rulebook.recovery_machines import MachineFinding, machine_findings
from jobs.models import Appliance, Jurisdiction, OpeningKind, RecoveryMachine
from jobs.selectors.appliances import Charge
from jobs.selectors.evacuation import circuit_of, machine_of, site_atmosphere_kpa

US_JURISDICTIONS = (Jurisdiction.US_FEDERAL, Jurisdiction.US_CALIFORNIA)


@dataclass(frozen=True)
class Opening:
    """What was chosen or recorded of an opening; ``reading`` is the gauge's, in one of ``VacuumUnit``."""

    kind: str = ""
    machine: RecoveryMachine | None = None
    is_compressor_running: bool | None = None
    reading: Decimal | None = None
    reading_unit: str = ""


@dataclass(frozen=True)
class OpeningAdvice:
    """The requirement with what a gauge at the site must show.

    Attributes:
        requirement: what the law asks for.
        reading: what a gauge that reads against the air shows for it; None for psig, or if nothing is asked for.
        sound_reading: the same for the parts that don't leak.
        altitude_m: of the site; None if it isn't on record, and sea level is taken.
        air_kpa: the air's pressure at the site, kPa absolute.
        findings: what speaks against the recovery machine.
        is_reached: whether the reading given reaches the level; None without one.
    """

    requirement: EvacuationRequirement
    reading: GaugeReading | None
    sound_reading: GaugeReading | None
    altitude_m: int | None
    air_kpa: Decimal
    findings: list[MachineFinding]
    is_reached: bool | None

    @property
    def is_small_appliance(self) -> bool:
        return self.requirement.recovery_pct is not None


def opening_advice(
    appliance: Appliance, charge: Charge, opening: Opening, *, on: datetime.date
) -> OpeningAdvice | None:
    """What is asked for before an appliance is opened; None where the law of the United States doesn't reach.

    Args:
        appliance: the one opened, with its site.
        charge: in force on the day.
        opening: what is known of it; without a kind it counts as a major repair, which asks for the most.
        on: the day.
    """
    if appliance.site.jurisdiction not in US_JURISDICTIONS:
        return None
    circuit = circuit_of(appliance, charge)
    try:
        requirement = _requirement(circuit, opening, on)
    except InvalidInput:
        return None
    air_kpa = site_atmosphere_kpa(appliance.site)
    machine = opening.machine
    return OpeningAdvice(
        requirement=requirement,
        reading=_reading(requirement.level, air_kpa),
        sound_reading=_reading(requirement.sound_level, air_kpa),
        altitude_m=appliance.site.altitude_m,
        air_kpa=air_kpa,
        findings=machine_findings(machine_of(machine), full_charge_mg=charge.full_charge_mg, on=on)
        if machine
        else [],
        is_reached=_is_reached(requirement.level, opening, air_kpa),
    )


def _requirement(circuit: Circuit, opening: Opening, on: datetime.date) -> EvacuationRequirement:
    kind = opening.kind if opening.kind in OpeningKind.values else OpeningKind.MAJOR
    return required_evacuation(
        circuit,
        on=on,
        opening=kind,
        machine_made_on=opening.machine.made_on if opening.machine else None,
        is_compressor_running=opening.is_compressor_running,
    )


def _reading(level: Level | None, air_kpa: Decimal) -> GaugeReading | None:
    return None if level is None or level.kpa_abs is None else gauge_reading(level, air_kpa)


def _is_reached(level: Level | None, opening: Opening, air_kpa: Decimal) -> bool | None:
    if level is None or opening.reading is None:
        return None
    try:
        return is_reached(level, opening.reading, opening.reading_unit, air_kpa)
    except InvalidInput:
        return None
