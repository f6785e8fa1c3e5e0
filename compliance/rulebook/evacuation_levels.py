"""Evacuation levels as pressures: what a gauge shows at the site's altitude, and whether a reading reaches it."""

from dataclasses import dataclass
from decimal import ROUND_HALF_EVEN, Decimal

from compliance.rulebook import policy
from compliance.rulebook.errors import InvalidInput

# Exact conversions of the conventional units (NIST SP 811, appendix B.8), rounded to the figures printed there.
KPA_PER_INHG = Decimal("3.386389")
KPA_PER_MMHG = Decimal("0.1333224")
KPA_PER_PSI = Decimal("6.894757")
KPA_PER_MICRON = KPA_PER_MMHG / 1000

LEVEL_UNITS = {
    "inHg_vacuum": "in Hg vacuum",
    "mmHg_vacuum": "mm Hg vacuum",
    "mmHg_absolute": "mm Hg absolute",
    "psig": "psig",
}
# A reading's units: absolute ones, and two relative to the air around the gauge.
_KPA_PER_ABSOLUTE_UNIT = {"micron": KPA_PER_MICRON, "mmHg_abs": KPA_PER_MMHG, "kPa_abs": Decimal(1)}
INHG_VACUUM, PSIG = "inHg_vac", "psig"

_TENTH = Decimal("0.1")
_HUNDREDTH = Decimal("0.01")


@dataclass(frozen=True)
class Level:
    """A level as the law prints it.

    ``unit`` is one of ``LEVEL_UNITS``. Vacuum is relative to ``reference_kpa``, the standard atmosphere that the law
    takes, so the level is an absolute pressure; psig is relative to the air around the gauge.
    """

    value: Decimal
    unit: str
    reference_kpa: Decimal

    @property
    def in_words(self) -> str:
        return f"{self.value} {LEVEL_UNITS[self.unit]}"

    @property
    def kpa_abs(self) -> Decimal | None:
        """The level as absolute pressure, kPa to the hundredth; ``None`` for one relative to the air around it."""
        exact = self._exact_kpa
        return None if exact is None else exact.quantize(_HUNDREDTH)

    @property
    def is_absolute(self) -> bool:
        """Whether the law prints it as an absolute pressure, which no altitude alters."""
        return self.unit == "mmHg_absolute"

    @property
    def _exact_kpa(self) -> Decimal | None:
        if self.unit == "inHg_vacuum":
            return self.reference_kpa - self.value * KPA_PER_INHG
        if self.unit == "mmHg_vacuum":
            return self.reference_kpa - self.value * KPA_PER_MMHG
        return self.value * KPA_PER_MMHG if self.is_absolute else None

    def highest_kpa(self, atmosphere_kpa: Decimal) -> Decimal:
        """The highest absolute pressure that meets the level at a place: never above the air there, for a vacuum.

        Args:
            atmosphere_kpa: pressure of the air at the place, kPa absolute.
        """
        exact = self._exact_kpa
        return atmosphere_kpa + self.value * KPA_PER_PSI if exact is None else min(exact, atmosphere_kpa)


@dataclass(frozen=True)
class GaugeReading:
    """What a gauge that reads relative to the air around it must show for a level, to a tenth of an inch of mercury.

    ``above_air_inhg`` says by how much the level stands above the air at the place; above zero, the gauge must show no
    vacuum, and 0 psig is the stricter bound.
    """

    inhg_vacuum: Decimal
    above_air_inhg: Decimal
    because: str


def gauge_reading(level: Level, atmosphere_kpa: Decimal) -> GaugeReading:
    """What a local gauge must show at least; an absolute gauge shows the level itself anywhere.

    Args:
        level: a vacuum or an absolute pressure.
        atmosphere_kpa: pressure of the air at the place, kPa absolute.

    Raises:
        InvalidInput: the level is one of psig, which a gauge shows as it is.

    Source: 40 CFR 82.156(a), table 1 (relative to 29.9 in Hg); interpretation for places above sea level.
    """
    target_kpa = level.kpa_abs
    if target_kpa is None:
        raise InvalidInput("level", level.in_words, "a vacuum or an absolute pressure")
    air = atmosphere_kpa / KPA_PER_INHG
    exact = (atmosphere_kpa - (level._exact_kpa or target_kpa)) / KPA_PER_INHG  # noqa: SLF001 -- of the same module
    shown = exact.quantize(_TENTH, ROUND_HALF_EVEN)
    because = f"The level is {target_kpa} kPa absolute; the air at the site has about {air.quantize(_HUNDREDTH)} in Hg."
    if shown < 0:
        because += f" {policy.NO_HIGHER_THAN_THE_AIR.sentence}."
    return GaugeReading(max(shown, Decimal("0.0")), max(-shown, Decimal("0.0")), because)


def is_reached(level: Level, value: Decimal, unit: str, atmosphere_kpa: Decimal) -> bool:
    """Whether a reading meets a level.

    Args:
        level: what is asked for.
        value: the reading, zero or more.
        unit: ``micron``, ``mmHg_abs``, ``kPa_abs`` (absolute), ``inHg_vac`` or ``psig`` (relative to the air).
        atmosphere_kpa: pressure of the air at the place, kPa absolute.

    Raises:
        InvalidInput: an unknown unit.
    """
    if unit == INHG_VACUUM:
        return level.unit == "psig" or value >= gauge_reading(level, atmosphere_kpa).inhg_vacuum
    if unit == PSIG:
        reached_kpa = atmosphere_kpa + value * KPA_PER_PSI
    elif factor := _KPA_PER_ABSOLUTE_UNIT.get(unit):
        reached_kpa = value * factor
    else:
        raise InvalidInput("unit", unit, "micron, mmHg_abs, kPa_abs, inHg_vac or psig")
    spare_kpa = Decimal(0) if level.is_absolute else _TENTH / 2 * KPA_PER_INHG
    return reached_kpa <= level.highest_kpa(atmosphere_kpa) + spare_kpa
