import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from jobs.physics.errors import InvalidInput
from jobs.physics.non_condensables import (
    DEFAULT_GAUGE_DOUBT_PA,
    Verdict,
    check_pressure,
    pressure_slope_pa_k,
)
from jobs.physics.pressures import PA_PER_PSI

# Saturation pressure of R-134a at 25 °C, from memory.
R_134A_AT_25_C_PA = 665_800


# psi for the next °F at 77 °F, worked with CoolProp 8.0.0, not with this code.
@pytest.mark.parametrize(
    ("designation", "psi_per_f"),
    [
        *[("R-22", 2.28), ("R-134a", 1.61), ("R-12", 1.43), ("R-410A", 3.58), ("R-404A", 2.68)],
        *[("R-407C", 2.60), ("R-449A", 2.74), ("R-454B", 3.40), ("R-32", 3.67)],
    ],
)
def test_slope_of_the_pressure(designation, psi_per_f):
    slope = pressure_slope_pa_k(designation, 25)

    assert slope / PA_PER_PSI / 1.8 == pytest.approx(psi_per_f, rel=0.01)


def test_verdict_changes_at_the_tolerance_and_at_twice_it():
    check = check_pressure("R-134a", 25, R_134A_AT_25_C_PA)
    tolerance_pa, expected_pa = check.tolerance_pa, check.expected_pa

    def verdict(difference_pa):
        return check_pressure("R-134a", 25, expected_pa + difference_pa).verdict

    assert check.verdict is Verdict.FITS
    assert verdict(tolerance_pa - 1) is Verdict.FITS
    assert verdict(tolerance_pa + 1) is Verdict.RECHECK
    assert verdict(2 * tolerance_pa - 1) is Verdict.RECHECK
    assert verdict(2 * tolerance_pa + 1) is Verdict.TOO_HIGH
    assert verdict(1 - tolerance_pa) is Verdict.FITS
    assert verdict(-tolerance_pa - 1) is Verdict.TOO_LOW


def test_tolerance_is_2_f_of_temperature_and_half_a_percent():
    check = check_pressure("R-134a", 25, R_134A_AT_25_C_PA)

    expected = 2 * 1.6 * PA_PER_PSI + 0.005 * R_134A_AT_25_C_PA
    assert check.tolerance_pa == pytest.approx(expected, rel=0.01)


def test_poor_gauge_widens_the_tolerance():
    gauge_doubt_pa = 10 * PA_PER_PSI

    check = check_pressure("R-134a", 25, R_134A_AT_25_C_PA, gauge_doubt_pa=gauge_doubt_pa)

    assert check.tolerance_pa == pytest.approx(gauge_doubt_pa + 0.005 * R_134A_AT_25_C_PA, rel=1e-3)
    assert gauge_doubt_pa > DEFAULT_GAUGE_DOUBT_PA


def test_blend_is_held_against_its_bubble_pressure():
    # 1190 kPa bubble, 1020 kPa dew: the dew pressure would raise a false alarm.
    assert check_pressure("R-407C", 25, 1_190_300).verdict is Verdict.FITS
    assert check_pressure("R-407C", 25, 1_020_000).verdict is Verdict.TOO_LOW


@pytest.mark.parametrize(
    ("designation", "vapour_drawn_pct", "verdict"),
    [
        ("R-407C", 20, Verdict.TOO_LOW),
        ("R-407C", 21, Verdict.NONE),
        ("R-410A", 21, Verdict.TOO_LOW),
        ("R-22", 90, Verdict.TOO_LOW),
    ],
)
def test_blend_with_glide_gets_no_verdict_after_much_vapour_was_drawn(designation, vapour_drawn_pct, verdict):
    assert check_pressure(designation, 25, 300_000, vapour_drawn_pct=vapour_drawn_pct).verdict is verdict


def test_cold_cylinder_is_to_be_warmed():
    assert any("65 °F" in caution for caution in check_pressure("R-22", 10, 681_000).cautions)
    assert not any("65 °F" in caution for caution in check_pressure("R-22", 25, 1_044_000).cautions)


def test_words_show_what_the_gauge_shows():
    check = check_pressure("R-134a", 25, 650_000, atmosphere_pa=84_307)

    assert f"({(650_000 - 84_307) / PA_PER_PSI:.1f} psig)" in check.because


@pytest.mark.parametrize(
    ("arguments", "options", "field"),
    [
        (("R-438A", 25, 1e6), {}, "refrigerant"),
        (("R-23", 25, 1e6), {}, "temperature"),
        (("R-9999", 20, 1e6), {}, "refrigerant"),
        (("R-22", -30, 1e6), {}, "temperature"),
        (("R-22", 95, 1e6), {}, "temperature"),
        (("R-22", float("nan"), 1e6), {}, "temperature"),
        (("R-22", 25, 0), {}, "pressure"),
        (("R-22", 25, float("inf")), {}, "pressure"),
        (("R-22", 25, 1e6), {"gauge_doubt_pa": -1}, "gauge_doubt"),
        (("R-22", 25, 1e6), {"temperature_doubt_k": float("nan")}, "temperature_doubt"),
        (("R-22", "25", 1e6), {}, "temperature"),
        (("R-22", 25, 1e6), {"vapour_drawn_pct": 101}, "vapour_drawn"),
    ],
)
def test_unusable_figures_are_refused(arguments, options, field):
    with pytest.raises(InvalidInput) as refused:
        check_pressure(*arguments, **options)

    assert refused.value.field == field


ORDER = [Verdict.TOO_LOW, Verdict.FITS, Verdict.RECHECK, Verdict.TOO_HIGH]


@settings(max_examples=100)
@given(
    temperature_c=st.floats(min_value=-15, max_value=60),
    pressures_pa=st.lists(st.floats(min_value=1, max_value=1e7), min_size=2, max_size=2),
)
def test_higher_pressure_never_reads_lower(temperature_c, pressures_pa):
    lower, higher = sorted(pressures_pa)

    verdicts = [
        check_pressure("R-454B", temperature_c, pressure_pa).verdict for pressure_pa in (lower, higher)
    ]

    assert ORDER.index(verdicts[0]) <= ORDER.index(verdicts[1])
