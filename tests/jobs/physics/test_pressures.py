import pytest

from jobs.physics.errors import InvalidInput
from jobs.physics.pressures import (
    PA_PER_INHG,
    absolute_pa_of_inhg_vacuum,
    gauge_inhg_vacuum,
    gauge_psi,
    standard_atmosphere_pa,
)

FOOT_M = 0.3048


# U.S. Standard Atmosphere, 1976, table of geometric altitude.
@pytest.mark.parametrize(
    ("altitude_ft", "kpa", "inhg"), [(0, 101.325, 29.92), (5000, 84.31, 24.90), (10_000, 69.68, 20.58)]
)
def test_standard_atmosphere(altitude_ft, kpa, inhg):
    pressure_pa = standard_atmosphere_pa(altitude_ft * FOOT_M)

    assert pressure_pa / 1000 == pytest.approx(kpa, abs=0.01)
    assert pressure_pa / PA_PER_INHG == pytest.approx(inhg, abs=0.01)


# Levels of 40 CFR 82.156 Table 1; what a gauge must show is worked by hand from the table above.
@pytest.mark.parametrize(
    ("altitude_ft", "level_inhg", "reading_inhg"),
    [
        (5000, 15, 10.0),
        (5000, 10, 5.0),
        (5000, 4, -1.0),
        (5000, 0, -5.0),
        (10_000, 15, 5.7),
        (10_000, 10, 0.7),
    ],
)
def test_gauge_shows_less_vacuum_at_an_altitude(altitude_ft, level_inhg, reading_inhg):
    absolute_pa = absolute_pa_of_inhg_vacuum(level_inhg)

    reading = gauge_inhg_vacuum(absolute_pa, standard_atmosphere_pa(altitude_ft * FOOT_M))

    assert reading == pytest.approx(reading_inhg, abs=0.05)


def test_gauge_shows_nothing_at_the_atmosphere():
    assert gauge_psi(101_325) == 0
    assert gauge_inhg_vacuum(101_325) == 0


@pytest.mark.parametrize("altitude_m", [-501, 9001, float("nan")])
def test_altitude_beyond_the_range_is_refused(altitude_m):
    with pytest.raises(InvalidInput, match="altitude"):
        standard_atmosphere_pa(altitude_m)
