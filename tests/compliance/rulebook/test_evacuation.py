"""Evacuation levels of 40 CFR 82.156(a), table 1, cell by cell."""

from datetime import date
from decimal import Decimal

import pytest

from compliance.rulebook.evacuation import required_evacuation
from compliance.rulebook.masses import parse_mass_mg
from compliance.rulebook.refrigerants import find

OLD = date(1993, 11, 14)
NEW = date(1993, 11, 15)


@pytest.mark.parametrize(
    ("refrigerant", "pounds", "old", "new", "new_kpa_abs"),
    [
        ("R-23", 500, 0, 0, "101.25"),
        ("R-22", 199, 0, 0, "101.25"),
        ("R-22", 200, 4, 10, "67.39"),
        ("R-134a", 199, 4, 10, "67.39"),
        ("R-134a", 200, 4, 15, "50.46"),
        ("R-123", 10, 25, 25, "3.33"),
        ("R-123", 900, 25, 25, "3.33"),
    ],
)
def test_table_1(refrigerant, pounds, old, new, new_kpa_abs):
    substance, charge_mg = find(refrigerant), parse_mass_mg(pounds, "lb")

    before = required_evacuation(substance, full_charge_mg=charge_mg, machine_made_on=OLD)
    after = required_evacuation(substance, full_charge_mg=charge_mg, machine_made_on=NEW)

    assert (before.value, after.value) == (old, new)
    assert after.kpa_abs == Decimal(new_kpa_abs)
    assert required_evacuation(substance, full_charge_mg=charge_mg) == after


def test_low_pressure_is_absolute_and_the_rest_a_vacuum():
    low = required_evacuation(find("R-11"), full_charge_mg=10**8)
    medium = required_evacuation(find("R-12"), full_charge_mg=10**8)

    assert low.in_words == "25 mm Hg absolute"
    assert medium.in_words == "15 in Hg vacuum"


def test_a_pressure_class_not_named_in_the_law_is_marked():
    assert required_evacuation(find("R-410A"), full_charge_mg=10**7).is_confirmed
    assert not required_evacuation(find("R-454B"), full_charge_mg=10**7).is_confirmed
