"""Holds a mass that a person wrote down against the mass that the scale's log gives."""

import math
from dataclasses import dataclass
from decimal import Decimal, InvalidOperation
from fractions import Fraction

from jobs.weighing.masses import MG_PER_UNIT

# How many standard uncertainties the two may lie apart: about 99.7 % of honest pairs do (JCGM 100:2008, 6.3.3, and
# table G.1). With 2, one honest pair in twenty would be held up to the officer.
COVERAGE_FACTOR = 3

# A figure with a last digit of d may stand for anything within d/2 either way: a standard uncertainty of d over the
# root of 12 (JCGM 100:2008, 4.3.7 and F.2.2.1). A net mass is the difference of two readings.
VARIANCE_OF_A_READING = 1 / 12


@dataclass(frozen=True)
class MassComparison:
    """A mass on record beside the log's.

    Args:
        difference_mg: the mass on record less the log's, whole milligrams.
        tolerance_mg: what weighing explains of a difference, either way, whole milligrams.
    """

    difference_mg: int
    tolerance_mg: int

    @property
    def is_beyond(self) -> bool:
        """Whether the two differ by more than weighing explains."""
        return abs(self.difference_mg) > self.tolerance_mg


def compare_masses(
    *, recorded_mg: int, digit_mg: float, logged_mg: int, uncertainty_mg: float, division_mg: float | None
) -> MassComparison:
    """Says whether a mass that was written down and the log's net mass can be the same.

    Args:
        recorded_mg: the mass on record, milligrams.
        digit_mg: what one unit of the last digit written is, milligrams (see ``last_digit_mg``).
        logged_mg: the log's net mass, milligrams.
        uncertainty_mg: its standard uncertainty, milligrams.
        division_mg: the scale's division, milligrams; ``None`` where no scale is named: then the last digit written
            stands for it.

    Returns:
        The difference, and the expanded uncertainty that it is held against.

    Source:
        JCGM 100:2008 (GUM), 5.1.2 (independent contributions add by their squares), 4.3.7, 6.2.1, 6.3.3.

    Example:
        >>> compare_masses(
        ...     recorded_mg=3_175_147, digit_mg=45_359, logged_mg=3_300_000, uncertainty_mg=2_000, division_mg=5_000
        ... ).is_beyond
        True
    """
    written = VARIANCE_OF_A_READING * digit_mg**2
    two_readings = 2 * VARIANCE_OF_A_READING * (digit_mg if division_mg is None else division_mg) ** 2
    if division_mg is None:
        # The readings were rounded to the digit that was written; it is not rounded a third time.
        written = 0.0
    combined_mg = math.sqrt(uncertainty_mg**2 + written + two_readings)
    return MassComparison(recorded_mg - logged_mg, round(COVERAGE_FACTOR * combined_mg))


def last_digit_mg(value: str, unit: str) -> float:
    """The milligrams of one unit of the last digit of a mass as written; of pounds and ounces, of the ounces.

    Args:
        value: the figure, such as ``7.5``, or ``3+4.5`` for the unit ``lb+oz``.
        unit: kg, g, lb, oz or lb+oz.

    Example:
        >>> round(last_digit_mg("7.5", "lb"))
        45359
        >>> last_digit_mg("120", "g")
        1000.0
    """
    if unit == "lb+oz":
        value, unit = value.partition("+")[2], "oz"
    try:
        exponent = Decimal(value.strip() or "0").as_tuple().exponent
    except InvalidOperation:
        exponent = 0
    digit = Fraction(10) ** min(exponent if isinstance(exponent, int) else 0, 0)
    return float(digit * MG_PER_UNIT[unit])
