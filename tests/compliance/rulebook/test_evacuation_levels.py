"""Evacuation levels at an altitude, and readings on both sides of them."""

from decimal import Decimal

import pytest

from compliance.rulebook.errors import InvalidInput
from compliance.rulebook.evacuation_levels import KPA_PER_INHG, Level, gauge_reading, is_reached

# 40 CFR 82.156(a), table 1: relative to 29.9 in Hg.
REFERENCE = Decimal("29.9") * KPA_PER_INHG
# U.S. Standard Atmosphere, 1976: 29.92 in Hg at the sea, 24.90 at 5000 ft, 20.58 at 10 000 ft.
SEA, AT_5000_FT, AT_10000_FT = Decimal("101.325"), Decimal("84.307"), Decimal("69.682")


def level(value, unit="inHg_vacuum"):
    return Level(Decimal(value), unit, REFERENCE)


LOW = level(25, "mmHg_absolute")


@pytest.mark.parametrize(
    ("air", "inhg", "shown", "above"),
    [
        (SEA, 0, "0.0", "0.0"),
        (SEA, 4, "4.0", "0.0"),
        (SEA, 15, "15.0", "0.0"),
        (AT_5000_FT, 15, "10.0", "0.0"),
        (AT_5000_FT, 10, "5.0", "0.0"),
        (AT_5000_FT, 4, "0.0", "1.0"),
        (AT_5000_FT, 0, "0.0", "5.0"),
        (AT_10000_FT, 15, "5.7", "0.0"),
        (AT_10000_FT, 10, "0.7", "0.0"),
    ],
)
def test_gauge_shows_less_at_an_altitude_and_never_less_than_nothing(air, inhg, shown, above):
    reading = gauge_reading(level(inhg), air)

    assert (str(reading.inhg_vacuum), str(reading.above_air_inhg)) == (shown, above)
    assert ("0 psig, the stricter bound" in reading.because) is (above != "0.0")


# 25 mm Hg absolute is 23.9 in Hg below the air at 5000 ft, 28.9 at the sea.
@pytest.mark.parametrize(("air", "shown"), [(SEA, "28.9"), (AT_5000_FT, "23.9")])
def test_absolute_level_on_a_local_gauge(air, shown):
    assert str(gauge_reading(LOW, air).inhg_vacuum) == shown


@pytest.mark.parametrize(
    ("target", "unit", "reached", "missed", "air"),
    [
        (level(10), "inHg_vac", "10", "9.9", SEA),
        (level(10), "inHg_vac", "5", "4.9", AT_5000_FT),
        (level(10), "kPa_abs", "67.55", "67.57", SEA),
        # An absolute gauge reads the same at any altitude.
        (level(10), "kPa_abs", "67.55", "67.57", AT_5000_FT),
        (level(10), "mmHg_abs", "505", "507", AT_5000_FT),
        # The level of 4 in Hg stands above the air at 5000 ft (84.31 kPa): 0 psig is the bound.
        (level(4), "kPa_abs", "84.4", "84.6", AT_5000_FT),
        (level(4), "psig", "0", "0.1", AT_5000_FT),
        (level(0), "psig", "0", "0.1", SEA),
        (LOW, "micron", "25000", "25001", AT_5000_FT),
        (LOW, "mmHg_abs", "25", "25.001", SEA),
        (LOW, "kPa_abs", "3.333", "3.334", SEA),
        (LOW, "inHg_vac", "23.9", "23.8", AT_5000_FT),
        (level(5, "psig"), "psig", "5", "5.1", SEA),
        (level(5, "psig"), "psig", "5", "5.1", AT_5000_FT),
        (level(102, "mmHg_vacuum"), "inHg_vac", "4.0", "3.9", SEA),
    ],
)
def test_reading_on_both_sides_of_a_level(target, unit, reached, missed, air):
    assert is_reached(target, Decimal(reached), unit, air)
    assert not is_reached(target, Decimal(missed), unit, air)


def test_any_vacuum_is_below_a_level_of_psig():
    assert is_reached(level(0, "psig"), Decimal(0), "inHg_vac", SEA)


def test_units_that_are_none_are_refused():
    with pytest.raises(InvalidInput):
        is_reached(LOW, Decimal(1), "torr", SEA)
    with pytest.raises(InvalidInput):
        gauge_reading(level(0, "psig"), SEA)
