"""A full charge by calculation, from the sizes of the parts and the density of what stands in them."""

import math
from dataclasses import dataclass

from jobs.physics.errors import InvalidInput
from jobs.physics.fluids import Fluid, find
from jobs.physics.quantities import is_number
from jobs.physics.tabled_saturation import tabled_model, tabled_state

# The equations' own error is below this for liquid and vapour alike, but for blends that were never compared.
_DENSITY_DOUBT = 0.01

# A subcooled liquid is taken to be as dense as the saturated one of its own temperature. The pressure on it compresses
# it by up to 2 % more, for every blend on record, 20 K of subcooling and condensing this far below the critical
# temperature.
_SUBCOOLED_DOUBT = 0.02
_SUBCOOLED_BELOW_CRITICAL_K = 12.0


@dataclass(frozen=True)
class Vessel:
    """A part that holds liquid and vapour side by side: a heat exchanger, a receiver, an accumulator.

    Attributes:
        name: what the person calls it.
        volume_l: inside, litres.
        saturation_c: the temperature at which liquid and vapour stand there (bubble point for the liquid, dew point for
            the vapour), °C.
        liquid_pct: share of the volume that is liquid in operation, percent.
        liquid_doubt_pct: how many points that share may be off; it decides the whole estimate's error.
    """

    name: str
    volume_l: float
    saturation_c: float
    liquid_pct: float
    liquid_doubt_pct: float = 10.0


@dataclass(frozen=True)
class Line:
    """A pipe that holds either liquid or vapour.

    Attributes:
        name: what the person calls it.
        bore_mm: inside diameter, mm.
        length_m: metres.
        saturation_c: the temperature at which its pressure is the bubble point (liquid) or the dew point (vapour), °C.
        is_liquid: whether it holds liquid; saturated vapour if not.
        subcooling_k: how far the liquid is below its bubble point, K; nought for vapour.
    """

    name: str
    bore_mm: float
    length_m: float
    saturation_c: float
    is_liquid: bool
    subcooling_k: float = 0.0


@dataclass(frozen=True)
class ChargeInputs:
    """All that an estimate rests on; kept with it, so that it can be reckoned again."""

    refrigerant: str
    vessels: tuple[Vessel, ...]
    lines: tuple[Line, ...]


@dataclass(frozen=True)
class PartCharge:
    """What one part holds, mg: the estimate and its bounds."""

    name: str
    mass_mg: int
    lowest_mg: int
    highest_mg: int
    because: str


@dataclass(frozen=True)
class ChargeEstimate:
    """A full charge by calculation, mg, with its bounds and everything it rests on."""

    inputs: ChargeInputs
    parts: tuple[PartCharge, ...]
    mass_mg: int
    lowest_mg: int
    highest_mg: int
    because: str
    model: str
    accuracy: str


def estimate_charge(inputs: ChargeInputs) -> ChargeEstimate:
    """Adds up what the parts of an appliance hold in operation.

    Each vessel holds its volume times (liquid share times liquid density plus the rest times vapour density), each line
    its volume times the density of what stands in it. The bounds take every liquid share at the end of its doubt, and
    1 % of density (2 % above for a subcooled liquid).

    Args:
        inputs: refrigerant and parts; at least one part.

    Returns:
        The sum, its bounds and each part, in mg rounded to the nearest.

    Raises:
        InvalidInput: no part, a size or share out of range, or a temperature at which the refrigerant has no saturated
            state; the field names the part (``vessels-0-volume``, ``lines-1-bore``).

    Source: 40 CFR 82.152, "full charge", method (2): calculations based on component sizes, density of refrigerant,
        volume of piping.
    """
    fluid = find(inputs.refrigerant)
    if fluid.is_estimated:
        expected = "a refrigerant whose density is known; the mixing parameters of this blend are estimated"
        raise InvalidInput("refrigerant", inputs.refrigerant, expected)
    if not inputs.vessels and not inputs.lines:
        raise InvalidInput("vessels", None, "at least one part of the appliance")
    for index, vessel in enumerate(inputs.vessels):
        _check_vessel(vessel, f"vessels-{index}")
    for index, line in enumerate(inputs.lines):
        _check_line(line, f"lines-{index}")
    parts = (
        *(_vessel(fluid, vessel, f"vessels-{index}") for index, vessel in enumerate(inputs.vessels)),
        *(_line(fluid, line, f"lines-{index}") for index, line in enumerate(inputs.lines)),
    )
    mass_mg, lowest_mg, highest_mg = (
        sum(getattr(part, bound) for part in parts) for bound in ("mass_mg", "lowest_mg", "highest_mg")
    )
    return ChargeEstimate(
        inputs=inputs,
        parts=parts,
        mass_mg=mass_mg,
        lowest_mg=lowest_mg,
        highest_mg=highest_mg,
        because=(
            f"{'; '.join(f'{part.name}: {part.because}' for part in parts)}. Together {mass_mg / 1e6:.3f} kg, between "
            f"{lowest_mg / 1e6:.3f} and {highest_mg / 1e6:.3f} kg by the doubt about the liquid shares."
        ),
        model=tabled_model(fluid),
        accuracy=fluid.accuracy,
    )


def line_density_kg_m3(refrigerant: str, line: Line) -> float:
    """The density of what stands in a line, kg/m³.

    Raises:
        InvalidInput: as :func:`estimate_charge`.
    """
    _check_line(line, "line")
    return _line_density_kg_m3(find(refrigerant), line, "line")


def _vessel(fluid: Fluid, vessel: Vessel, field: str) -> PartCharge:
    state = tabled_state(fluid, vessel.saturation_c, f"{field}-saturation")
    liquid, vapour = state.liquid_density_kg_m3, state.vapour_density_kg_m3

    def mass_mg(liquid_pct: float, density_factor: float = 1.0) -> int:
        share = min(max(liquid_pct, 0.0), 100.0) / 100
        # kg/m³ times litres is grams.
        return round((share * liquid + (1 - share) * vapour) * vessel.volume_l * density_factor * 1000)

    because = (
        f"{vessel.volume_l:.4g} L, {vessel.liquid_pct:g} % (± {vessel.liquid_doubt_pct:g}) liquid of "
        f"{liquid:.1f} kg/m³ and vapour of {vapour:.2f} kg/m³, saturated at {vessel.saturation_c:.4g} °C"
    )
    return PartCharge(
        name=vessel.name,
        mass_mg=mass_mg(vessel.liquid_pct),
        lowest_mg=mass_mg(vessel.liquid_pct - vessel.liquid_doubt_pct, 1 - _DENSITY_DOUBT),
        highest_mg=mass_mg(vessel.liquid_pct + vessel.liquid_doubt_pct, 1 + _DENSITY_DOUBT),
        because=because,
    )


def _line(fluid: Fluid, line: Line, field: str) -> PartCharge:
    density = _line_density_kg_m3(fluid, line, field)
    volume_l = math.pi / 4 * line.bore_mm**2 * line.length_m / 1000
    mass_g = density * volume_l
    what = "liquid" if line.is_liquid else "vapour"
    state = f"saturated at {line.saturation_c:.4g} °C"
    if line.subcooling_k:
        state += f", subcooled by {line.subcooling_k:.3g} K"
    return PartCharge(
        name=line.name,
        mass_mg=round(mass_g * 1000),
        lowest_mg=round(mass_g * 1000 * (1 - _DENSITY_DOUBT)),
        highest_mg=round(mass_g * 1000 * (1 + (_SUBCOOLED_DOUBT if line.subcooling_k else _DENSITY_DOUBT))),
        because=(
            f"{line.length_m:.4g} m of {line.bore_mm:.4g} mm bore ({volume_l:.3f} L), {what} of {density:.2f} kg/m³, "
            f"{state}"
        ),
    )


def _line_density_kg_m3(fluid: Fluid, line: Line, field: str) -> float:
    state = tabled_state(fluid, line.saturation_c, f"{field}-saturation")
    if not line.is_liquid:
        return state.vapour_density_kg_m3
    warmest_c = fluid.critical_c - _SUBCOOLED_BELOW_CRITICAL_K
    if line.subcooling_k and line.saturation_c > warmest_c:
        expected = f"at most {warmest_c:.1f} °C for subcooled {fluid.designation}, 12 K below the critical temperature"
        raise InvalidInput(f"{field}-saturation", line.saturation_c, expected)
    subcooled_c = line.saturation_c - line.subcooling_k
    return tabled_state(fluid, subcooled_c, f"{field}-subcooling").liquid_density_kg_m3


def _check_vessel(vessel: Vessel, field: str) -> None:
    _check_above_zero(vessel.volume_l, f"{field}-volume")
    for share, name in ((vessel.liquid_pct, "liquid"), (vessel.liquid_doubt_pct, "liquid_doubt")):
        if not 0 <= share <= 100:  # noqa: PLR2004 the ends of a percentage
            raise InvalidInput(f"{field}-{name}", share, "a percentage from 0 to 100")


def _check_line(line: Line, field: str) -> None:
    _check_above_zero(line.bore_mm, f"{field}-bore")
    _check_above_zero(line.length_m, f"{field}-length")
    warmest_k = 60 if line.is_liquid else 0
    if not 0 <= line.subcooling_k <= warmest_k:
        raise InvalidInput(f"{field}-subcooling", line.subcooling_k, f"from 0 to {warmest_k} K in this line")


def _check_above_zero(value: float, field: str) -> None:
    if not (is_number(value) and value > 0):
        raise InvalidInput(field, value, "a size above zero")
