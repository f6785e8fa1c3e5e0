"""Masses: exact to the milligram, rounded half up once on the way in, half-even on the way out."""

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from compliance.rulebook.errors import InvalidInput
from compliance.rulebook.masses import (
    MAX_MASS_MG,
    MG_PER_UNIT,
    format_mass,
    mass_answer,
    parse_mass_mg,
    parse_pounds_ounces_mg,
    parse_quantity,
    round_half_even,
)


def test_the_pound_is_the_international_one():
    """0.45359237 kg exactly; 16 ounces (NIST Handbook 44, appendix C)."""
    assert MG_PER_UNIT["lb"] == Decimal("453592.37")
    assert MG_PER_UNIT["oz"] * 16 == MG_PER_UNIT["lb"]


@pytest.mark.parametrize(
    ("value", "unit", "mass_mg"),
    [
        ("12.5", "lb", 5_669_905),
        (200, "lb", 90_718_474),
        (Decimal("5.67"), "kg", 5_670_000),
        ("0.0005", "g", 1),
        ("0.00049", "g", 0),
        ("1", "oz", 28_350),
        (0, "kg", 0),
    ],
)
def test_a_typed_mass_rounds_half_up_to_the_milligram(value, unit, mass_mg):
    assert parse_mass_mg(value, unit) == mass_mg


def test_pounds_and_ounces_round_as_one_sum():
    # 1 lb is 453 592.37 mg and 1.5 oz 42 524.2846875 mg; each alone would lose a fraction.
    assert parse_pounds_ounces_mg(1, "1.5") == 496_117
    assert parse_pounds_ounces_mg(3, "4.5") == 1_488_350


@given(st.integers(-(10**15), 10**15), st.integers(1, 10**12))
def test_rounding_half_even_is_that_of_exact_fractions(numerator, denominator):
    assert round_half_even(numerator, denominator) == round(Fraction(numerator, denominator))
    assert round_half_even(2 * numerator + 1, 2) == round(Fraction(2 * numerator + 1, 2))


@given(st.integers(0, 200_000))
def test_sixteen_ounces_are_a_pound(ounces):
    assert parse_mass_mg(ounces, "oz") == parse_pounds_ounces_mg(ounces // 16, ounces % 16)


@given(st.integers(1, MAX_MASS_MG))
def test_milligrams_come_back_from_grams(mass_mg):
    assert parse_quantity({"value": Decimal(mass_mg) / 1000, "unit": "g"}, "mass") == mass_mg


@pytest.mark.parametrize(
    ("quantity", "field"),
    [
        ({"value": 0, "unit": "lb"}, "m.value"),
        ({"value": -1, "unit": "lb"}, "m.value"),
        ({"value": Decimal("0.0000001"), "unit": "g"}, "m.value"),
        ({"value": Decimal("1E+400"), "unit": "g"}, "m.value"),
        ({"value": Decimal("1E-400"), "unit": "g"}, "m.value"),
        ({"value": Decimal("NaN"), "unit": "g"}, "m.value"),
        ({"value": 10**13, "unit": "kg"}, "m.value"),
        ({"value": "12", "unit": "lb"}, "m.value"),
        ({"value": True, "unit": "lb"}, "m.value"),
        ({"value": 1.5, "unit": "lb"}, "m.value"),
        ({"value": None, "unit": "lb"}, "m.value"),
        ({"value": 1, "unit": "stone"}, "m.unit"),
        ({"value": 1, "unit": None}, "m.unit"),
        ({"value": 1, "unit": ["lb"]}, "m.unit"),
        ({"value": 1}, "m.unit"),
        ({"unit": "lb"}, "m.value"),
        ({"value": 1, "unit": "lb", "note": "x"}, "m.note"),
        ({"lb": 1}, "m.oz"),
        ({"lb": 1, "oz": 2, "unit": "lb"}, "m.unit"),
        ({"lb": 0, "oz": 0}, "m"),
        ({"lb": -1, "oz": 20}, "m.lb"),
        (12, "m"),
        ([], "m"),
        (None, "m"),
    ],
)
def test_what_is_no_quantity_is_refused_where_it_stands(quantity, field):
    with pytest.raises(InvalidInput) as refused:
        parse_quantity(quantity, "m")

    assert refused.value.field == field


def test_no_pounds_and_some_ounces_is_a_quantity():
    assert parse_quantity({"lb": 0, "oz": 8}, "m") == 226_796


def test_an_answer_has_kilograms_and_pounds_with_three_decimals_half_even():
    assert mass_answer(5_669_905) == {"mg": 5_669_905, "kg": Decimal("5.670"), "lb": Decimal("12.500")}
    assert mass_answer(2_500)["kg"] == Decimal("0.002")
    assert mass_answer(3_500)["kg"] == Decimal("0.004")
    assert mass_answer(0)["lb"] == 0


def test_a_mass_is_written_with_its_unit():
    assert format_mass(3_175_147) == "7.000 lb"
    assert format_mass(3_175_147, "kg") == "3.175 kg"


# 1 lb = 453 592.37 mg (NIST Handbook 44, appendix C): 0.0005 lb lie between 226 and 227 mg, 0.0005 kg are 500 mg.
@pytest.mark.parametrize(
    ("mass_mg", "unit", "shown"),
    [
        (0, "lb", "0.000 lb"),
        (1, "lb", "0.000002 lb"),
        (1, "kg", "0.000001 kg"),
        (1, "oz", "0.000035 oz"),
        (226, "lb", "0.000498 lb"),
        (227, "lb", "0.001 lb"),
        (-226, "lb", "-0.000498 lb"),
        (500, "kg", "0.000500 kg"),
        (501, "kg", "0.001 kg"),
    ],
)
def test_what_is_there_does_not_read_as_nothing(mass_mg, unit, shown):
    assert format_mass(mass_mg, unit) == shown
    assert mass_answer(abs(mass_mg))["mg"] == abs(mass_mg)
