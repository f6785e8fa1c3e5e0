"""The refrigerant table against published values and against itself."""

from decimal import Decimal

import pytest

from compliance.rulebook.errors import InvalidInput
from compliance.rulebook.refrigerants import all_refrigerants, find

# 42 USC 7675(c)(1), table of regulated substances: exchange values.
EXCHANGE_VALUES = {
    "R-134a": 1430, "R-245fa": 1030, "R-227ea": 3220, "R-236fa": 9810, "R-32": 675, "R-125": 3500,
    "R-143a": 4470, "R-152a": 124, "R-23": 14800,
}  # fmt: skip

# 40 CFR 82.152: examples named in the definitions of the pressure classes.
PRESSURE_CLASSES = {
    "low": ["R-11", "R-123", "R-113", "R-245fa"],
    "medium": ["R-114", "R-124", "R-12", "R-134a", "R-500"],
    "high": ["R-22", "R-407A", "R-407C", "R-410A", "R-502"],
    "very_high": ["R-13", "R-23", "R-503", "R-508A", "R-508B"],
}


@pytest.mark.parametrize(("designation", "value"), EXCHANGE_VALUES.items())
def test_hydrofluorocarbons_have_the_exchange_values_of_the_statute(designation, value):
    assert find(designation).gwp_ar4 == value


def test_blends_are_the_mass_weighted_sum_of_their_parts():
    """40 CFR 84.64(b), (c); parts without a row of their own leave a blend out."""
    singles = {item.designation: item for item in all_refrigerants() if len(item.composition) == 1}
    checked = 0
    for blend in all_refrigerants():
        parts = blend.composition
        assert sum(mass_pct for _, mass_pct in parts) == 100
        if len(parts) == 1 or any(component not in singles for component, _ in parts):
            continue
        checked += 1
        for basis in ("gwp_ar4", "gwp_ar5", "gwp_ar6"):
            expected = (
                sum(mass_pct * getattr(singles[component], basis) for component, mass_pct in parts) / 100
            )
            assert abs(getattr(blend, basis) - expected) <= Decimal("0.006"), (blend.designation, basis)
        assert blend.contains_hfc == any(singles[component].contains_hfc for component, _ in parts)
        classes = {singles[component].ods_class for component, _ in parts}
        assert blend.ods_class == min(classes, key=["class_1", "class_2", "none"].index)
    assert checked > 50


@pytest.mark.parametrize(("pressure_class", "designations"), PRESSURE_CLASSES.items())
def test_pressure_classes_named_in_the_regulation_are_confirmed(pressure_class, designations):
    for designation in designations:
        refrigerant = find(designation)
        assert (refrigerant.pressure_class, refrigerant.is_pressure_class_confirmed) == (pressure_class, True)


def test_other_pressure_classes_are_marked():
    named = {designation for group in PRESSURE_CLASSES.values() for designation in group}

    assert {item.designation for item in all_refrigerants() if item.is_pressure_class_confirmed} == named


@pytest.mark.parametrize(
    ("spelling", "designation"),
    [
        ("R-410A", "R-410A"),
        ("R410A", "R-410A"),
        ("r 410a", "R-410A"),
        ("HFC-134a", "R-134a"),
        ("HCFC-22", "R-22"),
        ("CFC12", "R-12"),
        ("HFO-1234yf", "R-1234yf"),
        ("HCFO-1233zd(E)", "R-1233zd(E)"),
        ("HC-290", "R-290"),
        ("R1234ze(E)", "R-1234ze(E)"),
    ],
)
def test_usual_spellings_are_found(spelling, designation):
    assert find(spelling).designation == designation


@pytest.mark.parametrize(
    "spelling", ["CFC-22", "HFC-22", "HFC-410A", "410A", "R-", "", "R-1234ze", "R" * 1000, None, 22, ["R-22"]]
)
def test_what_is_no_designation_is_refused(spelling):
    with pytest.raises(InvalidInput) as refused:
        find(spelling, "appliance.refrigerant")

    assert refused.value.field == "appliance.refrigerant"


def test_every_row_says_where_it_comes_from():
    assert all(item.notes and item.safety_class for item in all_refrigerants())
