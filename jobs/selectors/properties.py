"""Answers about refrigerants as pages show them: pure physics with what was asked, no database."""

from dataclasses import dataclass
from decimal import Decimal

from jobs.physics.gauge_readings import GaugeReading
from jobs.physics.non_condensables import PressureCheck, check_pressure
from jobs.physics.pressures import PA_PER_PSI
from jobs.physics.quantities import parse_pressure_pa, parse_temperature_c, parse_volume_l
from jobs.physics.residual import Residual, inside_volume_l, residual_after_evacuation
from jobs.physics.saturation import Saturation
from jobs.physics.service_pressures import service_pressure_psi
from jobs.physics.tabled_saturation import tabled_at_pressure, tabled_at_temperature

TEMPERATURES = ("F", "C")
# Cylinders stamped with 350 psig and less are the common ones.
COMMON_SERVICE_PRESSURE_PSI = 350


@dataclass(frozen=True)
class SaturationAnswer:
    """A refrigerant at saturation with what a gauge shows of it; ``by_temperature`` tells what was asked."""

    asked: str
    by_temperature: bool
    saturation: Saturation
    bubble: GaugeReading
    dew: GaugeReading

    @property
    def has_glide(self) -> bool:
        """Whether bubble and dew point differ by what a gauge or thermometer shows."""
        bubble, dew = self.saturation.bubble, self.saturation.dew
        return f"{self.bubble}" != f"{self.dew}" or round(dew.temperature_c - bubble.temperature_c, 1) != 0


@dataclass(frozen=True)
class ResidualAnswer:
    """The vapour left behind, with the gauge's reading; the volume is None where a person gave it."""

    residual: Residual
    volume_l: float
    reckoned_from: str
    share_pct: float | None
    reading: GaugeReading


def saturation_asked(*, refrigerant: str, at: str, atmosphere_pa: float) -> SaturationAnswer:
    """Saturation at a temperature or a pressure as typed, such as ``70 F`` or ``201 psig``.

    Raises:
        InvalidInput: see ``jobs.physics.tabled_saturation``.
    """
    by_temperature = at.rpartition(" ")[2] in TEMPERATURES
    if by_temperature:
        saturation = tabled_at_temperature(refrigerant, parse_temperature_c(at))
    else:
        saturation = tabled_at_pressure(refrigerant, parse_pressure_pa(at, atmosphere_pa=atmosphere_pa))
    return SaturationAnswer(
        asked=at,
        by_temperature=by_temperature,
        saturation=saturation,
        bubble=GaugeReading(saturation.bubble.pressure_pa, atmosphere_pa),
        dew=GaugeReading(saturation.dew.pressure_pa, atmosphere_pa),
    )


def residual_asked(
    *,
    refrigerant: str,
    pressure: str,
    temperature: str,
    atmosphere_pa: float,
    volume: str = "",
    charge_mg: int | None = None,
    liquid_pct: Decimal | None = None,
) -> ResidualAnswer:
    """What an evacuated appliance still holds, by its volume, or by its charge and the share of it that is liquid.

    Raises:
        InvalidInput: see ``jobs.physics.residual``.
    """
    temperature_c = parse_temperature_c(temperature)
    pressure_pa = parse_pressure_pa(pressure, atmosphere_pa=atmosphere_pa)
    reckoned_from = ""
    if volume:
        volume_l = parse_volume_l(volume)
    else:
        volume_l = inside_volume_l(refrigerant, charge_mg or 0, temperature_c, float(liquid_pct or 0))
        reckoned_from = f"the full charge, {liquid_pct} % of the inside in liquid at rest"
    residual = residual_after_evacuation(refrigerant, volume_l, temperature_c, pressure_pa)
    share_pct = 100 * residual.mass_mg / charge_mg if charge_mg else None
    reading = GaugeReading(pressure_pa, atmosphere_pa)
    return ResidualAnswer(residual, volume_l, reckoned_from, share_pct, reading)


def cylinder_pressure_asked(
    *,
    refrigerant: str,
    temperature: str,
    pressure: str,
    gauge_doubt_psi: Decimal | str,
    temperature_doubt_f: Decimal | str,
    vapour_drawn_pct: Decimal | str,
    atmosphere_pa: float,
) -> PressureCheck:
    """A resting cylinder's pressure against what its refrigerant should show.

    Raises:
        InvalidInput: see ``jobs.physics.non_condensables``.
    """
    return check_pressure(
        refrigerant,
        parse_temperature_c(temperature),
        parse_pressure_pa(pressure, atmosphere_pa=atmosphere_pa),
        gauge_doubt_pa=float(gauge_doubt_psi) * PA_PER_PSI,
        temperature_doubt_k=float(temperature_doubt_f) / 1.8,
        vapour_drawn_pct=float(vapour_drawn_pct),
        atmosphere_pa=atmosphere_pa,
    )


def high_service_pressure_psi(refrigerant: str) -> float | None:
    """The least service pressure of a cylinder for this refrigerant, psig, where it is above the common one's need."""
    least_psi = service_pressure_psi(refrigerant)
    return least_psi if least_psi is not None and least_psi > COMMON_SERVICE_PRESSURE_PSI else None
