"""Masses as typed: what is kept, and what they come to."""

import pytest

from jobs.services.entries import EnteredMass
from tests.jobs.refused import refused


# 1 lb is 0.45359237 kg exactly (NIST Handbook 44, appendix C); products rounded half up to the milligram by hand.
@pytest.mark.parametrize(
    ("value", "unit", "mass_mg"),
    [
        ("7", "lb", 3_175_147),
        ("12.5", "lb", 5_669_905),
        ("3+4.5", "lb+oz", 1_488_350),
        ("3", "lb+oz", 1_360_777),
        (" 3 + 4.5 ", "lb+oz", 1_488_350),
        ("2.5", "kg", 2_500_000),
        ("0.5", "g", 500),
        ("1", "oz", 28_350),
        ("0", "kg", 0),
    ],
)
def test_mass_comes_to_whole_milligrams(value, unit, mass_mg):
    assert EnteredMass.parse(value, unit).mass_mg == mass_mg


def test_mass_keeps_what_was_typed():
    mass = EnteredMass.parse(" 12.50 ", "lb", "full_charge")

    assert (mass.value, mass.unit) == ("12.50", "lb")
    assert str(mass) == "12.50 lb"
    assert str(EnteredMass.parse("3+4.5", "lb+oz")) == "3 lb 4.5 oz"


@pytest.mark.parametrize(
    ("value", "unit"),
    [
        ("", "lb"),
        ("seven", "lb"),
        ("-1", "lb"),
        ("NaN", "kg"),
        ("1e99", "kg"),
        ("3++4", "lb+oz"),
        ("1", "stone"),
    ],
)
def test_mass_is_refused_under_its_field_when_it_is_none(value, unit):
    refusals = refused(EnteredMass.parse, value, unit, "transfers-0-mass")

    assert refusals["transfers-0-mass"].value == value
