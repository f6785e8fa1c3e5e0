"""Whether a resting cylinder's pressure fits its refrigerant and temperature, or shows air or another refrigerant."""

import math
from dataclasses import dataclass
from enum import StrEnum

from jobs.physics.errors import InvalidInput
from jobs.physics.fluids import ZERO_CELSIUS_K, Fluid, find
from jobs.physics.gauge_readings import GaugeReading
from jobs.physics.pressures import PA_PER_PSI, STANDARD_ATMOSPHERE_PA, gauge_psi
from jobs.physics.quantities import is_number
from jobs.physics.saturation_table import SaturationTable, saturation_table
from jobs.physics.tabled_saturation import tabled_model

# The tolerances are common practice, no source: 2 °F of doubt about the temperature of the liquid inside, and half a
# percent for the equation of state. Air at the limit of AHRI 700 (1.5 % by volume of the vapour) is 1.5 to 3.7 psi,
# about as much as 1 °F, so no field check is finer than this.
DEFAULT_TEMPERATURE_DOUBT_K = 2 / 1.8
MODEL_DOUBT = 0.005
RECHECK_FACTOR = 2

# A gauge of 1 psi steps, as US Army TM 5-3810-307-24 asks for.
DEFAULT_GAUGE_DOUBT_PA = PA_PER_PSI

# Drawing vapour leaves a liquid that is richer in the heavy parts, so its bubble pressure falls. Where that begins to
# matter is common practice, no source.
_GLIDE_THAT_SHIFTS_K = 2.0
_VAPOUR_DRAWN_THAT_SHIFTS_PCT = 20.0

# US Army TM 5-3810-307-24: bring the container above 65 °F before comparing.
_COLDEST_FOR_COMPARING_C = (65 - 32) / 1.8

# Colder than this no cylinder is compared: one degree of doubt hides more than any air would show.
_COLDEST_C = -20.0

_SLOPE_STEP_K = 0.5


class Verdict(StrEnum):
    """What a cylinder's pressure says."""

    FITS = "fits"
    RECHECK = "recheck"
    TOO_HIGH = "too_high"
    TOO_LOW = "too_low"
    NONE = "none"


VERDICT_WORDS = {
    Verdict.FITS: "The pressure fits the refrigerant and the temperature.",
    Verdict.RECHECK: "The pressure is somewhat high: compare again after 24 hours at an even temperature.",
    Verdict.TOO_HIGH: "The pressure is too high: there are non-condensable gases, or it is another refrigerant.",
    Verdict.TOO_LOW: "The pressure is too low: it is another refrigerant, or there is no liquid left in the cylinder.",
    Verdict.NONE: "No verdict: so much vapour was drawn from this blend that its composition has shifted.",
}


@dataclass(frozen=True)
class PressureCheck:
    """A cylinder's pressure against what its refrigerant should show; pressures in Pa, absolute.

    Attributes:
        expected_pa: at the bubble point.
        tolerance_pa: up to which a difference says nothing.
        because: the figures in words.
        cautions: what to see to, and what was not as it should be for comparing.
        atmosphere_pa: around the gauge.
        model: where the expected pressure comes from.
        accuracy: what is known of its error.
    """

    verdict: Verdict
    measured_pa: float
    expected_pa: float
    tolerance_pa: float
    because: str
    cautions: tuple[str, ...]
    atmosphere_pa: float
    model: str
    accuracy: str

    @property
    def words(self) -> str:
        """The verdict as a sentence."""
        return VERDICT_WORDS[self.verdict]

    @property
    def measured(self) -> GaugeReading:
        """What the cylinder shows, as the gauge reads."""
        return GaugeReading(self.measured_pa, self.atmosphere_pa)

    @property
    def expected(self) -> GaugeReading:
        """What it should show."""
        return GaugeReading(self.expected_pa, self.atmosphere_pa)


def check_pressure(
    refrigerant: str,
    temperature_c: float,
    pressure_pa: float,
    *,
    gauge_doubt_pa: float = DEFAULT_GAUGE_DOUBT_PA,
    temperature_doubt_k: float = DEFAULT_TEMPERATURE_DOUBT_K,
    vapour_drawn_pct: float = 0.0,
    atmosphere_pa: float = STANDARD_ATMOSPHERE_PA,
) -> PressureCheck:
    """Compares the pressure of a resting cylinder that holds liquid with its refrigerant's bubble pressure.

    The tolerance is the gauge's doubt or that of the temperature (2 °F unless given), whichever is more, and half a
    percent of the pressure. Up to it the pressure fits; up to twice it, compare again after a day; above, there are
    non-condensable gases or another refrigerant; below, another refrigerant or no liquid.

    Args:
        refrigerant: ASHRAE 34 designation.
        temperature_c: of the cylinder, rested at an even temperature, °C.
        pressure_pa: absolute: a gauge's reading and the atmosphere around it (``jobs.physics.quantities``).
        gauge_doubt_pa: how far the gauge may be off, Pa.
        temperature_doubt_k: how far the temperature of the liquid inside may be off, K.
        vapour_drawn_pct: percent of the filling that was drawn as vapour.
        atmosphere_pa: absolute, around the gauge, so that the words show what the gauge shows.

    Raises:
        InvalidInput: a refrigerant whose pressure is not known, a temperature outside its table, a pressure that is not
            above zero, or a doubt or percentage out of range.

    Source: US Army TM 5-3810-307-24 (comparing with a table); the tolerances are common practice, no source.

    Example:
        >>> check_pressure("R-134a", 25, 665_800).verdict.value
        'fits'
    """
    fluid = find(refrigerant)
    _check_figures(pressure_pa, gauge_doubt_pa, temperature_doubt_k, vapour_drawn_pct)
    table, (expected_pa, dew_pa) = _expected(fluid, temperature_c)
    slope_pa_k = _slope_pa_k(table, temperature_c)
    tolerance_pa = max(gauge_doubt_pa, temperature_doubt_k * slope_pa_k) + MODEL_DOUBT * expected_pa
    glide_k = math.log(expected_pa / dew_pa) * expected_pa / slope_pa_k
    has_shifted = glide_k > _GLIDE_THAT_SHIFTS_K and vapour_drawn_pct > _VAPOUR_DRAWN_THAT_SHIFTS_PCT
    verdict = Verdict.NONE if has_shifted else _verdict(pressure_pa - expected_pa, tolerance_pa)
    because = (
        f"{fluid.designation} at {temperature_c:.1f} °C should stand at {_both(expected_pa, atmosphere_pa)}; "
        f"it stands at {_both(pressure_pa, atmosphere_pa)}. A difference of up to "
        f"{tolerance_pa / PA_PER_PSI:.1f} psi says nothing: the gauge may be "
        f"{gauge_doubt_pa / PA_PER_PSI:.1f} psi off, the temperature {temperature_doubt_k * 1.8:.1f} °F, which is "
        f"{temperature_doubt_k * slope_pa_k / PA_PER_PSI:.1f} psi here; the larger counts, and "
        f"{MODEL_DOUBT * 100:g} % of the pressure for the equation. {VERDICT_WORDS[verdict]}"
    )
    return PressureCheck(
        verdict=verdict,
        measured_pa=pressure_pa,
        expected_pa=expected_pa,
        tolerance_pa=tolerance_pa,
        because=because,
        cautions=_cautions(temperature_c),
        atmosphere_pa=atmosphere_pa,
        model=tabled_model(fluid),
        accuracy=fluid.accuracy,
    )


def pressure_slope_pa_k(refrigerant: str, temperature_c: float) -> float:
    """How much the bubble pressure rises with temperature, Pa/K.

    Raises:
        InvalidInput: as :func:`check_pressure`.
    """
    table, _ = _expected(find(refrigerant), temperature_c)
    return _slope_pa_k(table, temperature_c)


def _expected(fluid: Fluid, temperature_c: float) -> tuple[SaturationTable, tuple[float, float]]:
    if fluid.is_estimated:
        expected = "a refrigerant whose pressure is known; its mixing parameters are estimated"
        raise InvalidInput("refrigerant", fluid.designation, expected)
    table = saturation_table(fluid)
    coldest_c = max(table.temperatures_c[0] + _SLOPE_STEP_K, _COLDEST_C)
    hottest_c = table.temperatures_c[-1] - _SLOPE_STEP_K
    is_inside = is_number(temperature_c) and coldest_c <= temperature_c <= hottest_c
    pressures_pa = table.pressures_pa(temperature_c) if is_inside else None
    if pressures_pa is None:
        expected = f"a temperature from {coldest_c:.1f} to {hottest_c:.1f} °C for {fluid.designation}"
        raise InvalidInput("temperature", temperature_c, expected)
    return table, pressures_pa


def _slope_pa_k(table: SaturationTable, temperature_c: float) -> float:
    below, above = (table.pressures_pa(temperature_c + step_k) for step_k in (-_SLOPE_STEP_K, _SLOPE_STEP_K))
    if below is None or above is None:
        raise InvalidInput("temperature", temperature_c, "a temperature inside the table")
    # ln p is nearly straight in 1/T, so its chord, not that of p, is the slope.
    kelvin = temperature_c + ZERO_CELSIUS_K
    chord = math.log(above[0] / below[0]) / (1 / (kelvin - _SLOPE_STEP_K) - 1 / (kelvin + _SLOPE_STEP_K))
    return chord / kelvin**2 * math.sqrt(above[0] * below[0])


def _verdict(difference_pa: float, tolerance_pa: float) -> Verdict:
    if difference_pa < -tolerance_pa:
        return Verdict.TOO_LOW
    if difference_pa <= tolerance_pa:
        return Verdict.FITS
    return Verdict.RECHECK if difference_pa <= RECHECK_FACTOR * tolerance_pa else Verdict.TOO_HIGH


def _cautions(temperature_c: float) -> tuple[str, ...]:
    cautions = [
        "Never vent refrigerant to find out or to cure it: recover it (40 CFR 82.154(a)).",
        "Let the cylinder rest at an even temperature, and measure that on its wall at the height of the liquid.",
        "Another refrigerant can show nearly the same pressure: only an analysis tells what is in a cylinder.",
    ]
    if temperature_c < _COLDEST_FOR_COMPARING_C:
        cautions.append(
            "Bring the cylinder above 65 °F (18 °C) first: the colder it is, the less a comparison shows."
        )
    return tuple(cautions)


def _both(pressure_pa: float, atmosphere_pa: float) -> str:
    return f"{pressure_pa / 1000:.0f} kPa absolute ({gauge_psi(pressure_pa, atmosphere_pa):.1f} psig)"


def _check_figures(
    pressure_pa: float, gauge_doubt_pa: float, temperature_doubt_k: float, vapour_drawn_pct: float
) -> None:
    if not (is_number(pressure_pa) and pressure_pa > 0):
        raise InvalidInput("pressure", pressure_pa, "an absolute pressure above zero")
    if not (is_number(gauge_doubt_pa) and gauge_doubt_pa >= 0):
        raise InvalidInput("gauge_doubt", gauge_doubt_pa, "a pressure of zero or more")
    if not (is_number(temperature_doubt_k) and temperature_doubt_k >= 0):
        raise InvalidInput(
            "temperature_doubt", temperature_doubt_k, "a difference of temperature, zero or more"
        )
    if not 0 <= vapour_drawn_pct <= 100:  # noqa: PLR2004 the ends of a percentage
        raise InvalidInput("vapour_drawn", vapour_drawn_pct, "a percentage from 0 to 100")
