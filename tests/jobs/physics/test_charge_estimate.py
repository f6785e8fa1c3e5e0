import dataclasses
import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from jobs.physics.charge_estimate import ChargeInputs, Line, Vessel, estimate_charge, line_density_kg_m3
from jobs.physics.equations import Equation
from jobs.physics.errors import InvalidInput
from jobs.physics.fluids import find

CONDENSER = Vessel("condenser", volume_l=4, saturation_c=40, liquid_pct=25)
EVAPORATOR = Vessel("evaporator", volume_l=3, saturation_c=5, liquid_pct=20)
LIQUID_LINE = Line("liquid line", bore_mm=10.92, length_m=20, saturation_c=40, is_liquid=True, subcooling_k=5)
SUCTION_LINE = Line("suction line", bore_mm=26, length_m=20, saturation_c=5, is_liquid=False)


# Bubble point 40 °C with 5 K of subcooling, and vapour at a dew point of 5 °C; worked with CoolProp 8.0.0, not with
# this code.
@pytest.mark.parametrize(
    ("designation", "liquid", "vapour"),
    [
        ("R-410A", 1009.4, 35.86),
        ("R-454B", 944.0, 27.80),
        ("R-404A", 996.5, 35.68),
        ("R-449A", 1053.5, 26.30),
    ],
)
def test_density_in_a_line(designation, liquid, vapour):
    # A subcooled liquid is a little denser than the saturated one that stands for it here.
    assert liquid * 0.995 < line_density_kg_m3(designation, LIQUID_LINE) <= liquid
    assert line_density_kg_m3(designation, SUCTION_LINE) == pytest.approx(vapour, abs=0.006)


@pytest.mark.parametrize("designation", ["R-410A", "R-404A", "R-455A", "R-744", "R-134a", "R-22", "R-290"])
def test_bounds_of_a_subcooled_line_hold_the_equations_density(designation):
    fluid = find(designation)
    equation = Equation(fluid)
    for saturation_c in (0.0, 18.0, 40.0, 55.0):
        if saturation_c > fluid.critical_c - 12:
            continue
        for subcooling_k in (3.0, 10.0, 20.0):
            line = dataclasses.replace(LIQUID_LINE, saturation_c=saturation_c, subcooling_k=subcooling_k)
            pressure_pa = equation.saturated_liquid(saturation_c).pressure_pa
            density = equation.liquid_density_kg_m3(saturation_c - subcooling_k, pressure_pa)
            volume_m3 = math.pi / 4 * 0.01092**2 * 20

            estimate = estimate_charge(ChargeInputs(designation, (), (line,)))

            assert estimate.lowest_mg < density * volume_m3 * 1e6 < estimate.highest_mg


def test_subcooled_liquid_near_the_critical_temperature_is_refused():
    line = dataclasses.replace(LIQUID_LINE, saturation_c=25.0)

    with pytest.raises(InvalidInput, match="critical") as refused:
        estimate_charge(ChargeInputs("R-744", (), (line,)))

    assert refused.value.field == "lines-0-saturation"


def test_metre_of_liquid_line_holds_95_g_of_r_410a():
    estimate = estimate_charge(
        ChargeInputs("R-410A", vessels=(), lines=(dataclasses.replace(LIQUID_LINE, length_m=1),))
    )

    assert estimate.mass_mg == pytest.approx(95_000, rel=0.01)
    # 1.02 oz to the foot.
    assert estimate.mass_mg * 0.3048 / 28_349.5 == pytest.approx(1.02, rel=0.01)


def test_estimate_is_the_sum_of_its_parts():
    inputs = ChargeInputs("R-410A", (CONDENSER, EVAPORATOR), (LIQUID_LINE, SUCTION_LINE))

    estimate = estimate_charge(inputs)

    assert estimate.inputs == inputs
    assert [part.name for part in estimate.parts] == [
        "condenser",
        "evaporator",
        "liquid line",
        "suction line",
    ]
    for bound in ("mass_mg", "lowest_mg", "highest_mg"):
        assert getattr(estimate, bound) == sum(getattr(part, bound) for part in estimate.parts)
    # By hand, litres times kg/m³: 4 L of 25 % liquid, 3 L of 20 % liquid, 1.873 L of liquid line, 10.619 L of vapour.
    by_hand_g = (
        4 * (0.25 * 975.72 + 0.75 * 103.24)
        + 3 * (0.2 * 1149.6 + 0.8 * 35.86)
        + 1.873 * 1009.38
        + 10.619 * 35.86
    )
    assert estimate.mass_mg / 1000 == pytest.approx(by_hand_g, rel=3e-3)


def test_bounds_come_from_the_doubt_about_the_liquid_share():
    sure = dataclasses.replace(CONDENSER, liquid_doubt_pct=0)
    unsure = dataclasses.replace(CONDENSER, liquid_doubt_pct=25)

    narrow = estimate_charge(ChargeInputs("R-410A", (sure,), ()))
    wide = estimate_charge(ChargeInputs("R-410A", (unsure,), ()))

    assert narrow.mass_mg == wide.mass_mg
    assert (narrow.lowest_mg, narrow.highest_mg) == pytest.approx(
        (0.99 * narrow.mass_mg, 1.01 * narrow.mass_mg), abs=1
    )
    assert wide.lowest_mg < narrow.lowest_mg < narrow.highest_mg < wide.highest_mg


@settings(max_examples=30, deadline=None)
@given(liquid_pct=st.floats(0, 100), doubt_pct=st.floats(0, 100), volume_l=st.floats(0.1, 1000))
def test_bounds_enclose_the_estimate(liquid_pct, doubt_pct, volume_l):
    vessel = Vessel("receiver", volume_l, 40, liquid_pct, doubt_pct)

    estimate = estimate_charge(ChargeInputs("R-22", (vessel,), ()))

    assert 0 < estimate.lowest_mg <= estimate.mass_mg <= estimate.highest_mg


def _with(part, **changes):
    replaced = dataclasses.replace(part, **changes)
    return (
        ChargeInputs("R-22", (replaced,), ())
        if isinstance(part, Vessel)
        else ChargeInputs("R-22", (), (replaced,))
    )


@pytest.mark.parametrize(
    ("inputs", "field"),
    [
        (ChargeInputs("R-22", (), ()), "vessels"),
        (ChargeInputs("R-9999", (CONDENSER,), ()), "refrigerant"),
        (ChargeInputs("R-438A", (CONDENSER,), ()), "refrigerant"),
        (_with(CONDENSER, volume_l=0), "vessels-0-volume"),
        (_with(CONDENSER, volume_l=float("nan")), "vessels-0-volume"),
        (_with(CONDENSER, liquid_pct=101), "vessels-0-liquid"),
        (_with(CONDENSER, liquid_doubt_pct=-1), "vessels-0-liquid_doubt"),
        (_with(CONDENSER, saturation_c=95), "vessels-0-saturation"),
        (_with(LIQUID_LINE, bore_mm=0), "lines-0-bore"),
        (_with(LIQUID_LINE, length_m=-1), "lines-0-length"),
        (_with(LIQUID_LINE, subcooling_k=-1), "lines-0-subcooling"),
        (_with(SUCTION_LINE, subcooling_k=1), "lines-0-subcooling"),
        (_with(SUCTION_LINE, saturation_c=-300), "lines-0-saturation"),
    ],
)
def test_unusable_inputs_are_refused_by_part(inputs, field):
    with pytest.raises(InvalidInput) as refused:
        estimate_charge(inputs)

    assert refused.value.field == field
