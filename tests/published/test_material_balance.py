"""Greenhouse gas inventory by material balance, against worked figures."""

from decimal import Decimal

import pytest

from compliance.rulebook.inventory import GwpBasis, MaterialBalance, SimplifiedBalance, co2e_t, gwp
from compliance.rulebook.refrigerants import find

# The balance adds and subtracts whatever unit it is given; half pounds stay whole in thousandths.
POUND = 1000


# Source: test figures of an open port of US EPA's Simplified GHG Emissions Calculator (refrigeration sheet, guidance
# of December 2020): pounds in, pounds of CO2 equivalent out.
@pytest.mark.parametrize(
    ("name", "potential", "pounds", "co2e_lb"),
    [
        ("CO2", "1", (100, 50, 100, 50, 25), 175),
        ("HFC-143a", "4470", ("1", "0.5", "1", "1", "0.5"), 8940),
    ],
)
def test_simplified_material_balance(name, potential, pounds, co2e_lb):
    figures = [int(Decimal(value) * POUND) for value in pounds]

    emitted = SimplifiedBalance(*figures).emitted_mg

    assert Decimal(emitted) / POUND * Decimal(potential) == co2e_lb


# Source: the same, full balance: stock 1 lb less at the end, 1 lb more acquired than disbursed, 1 lb less capacity.
def test_full_material_balance():
    emitted = MaterialBalance(POUND, 0, POUND, 0, POUND, 0).emitted_mg

    assert Decimal(emitted) / POUND * Decimal(13396) == 40_188


# Figures constructed for this test; the potentials are those of 40 CFR 84.64 (IPCC AR4).
@pytest.mark.parametrize(
    ("designation", "balance", "emitted_kg", "equivalent_t"),
    [
        ("R-410A", MaterialBalance(120, 90, 200, 40, 1500, 1560), 130, "271.375"),
        ("R-404A", SimplifiedBalance(48, 45, 62, 30, 27), 68, "266.669"),
    ],
)
def test_co2_equivalent_of_a_balance(designation, balance, emitted_kg, equivalent_t):
    potential = gwp(find(designation), GwpBasis.AR4)

    assert balance.emitted_mg == emitted_kg
    assert co2e_t(emitted_kg * 1_000_000, potential).quantize(Decimal("0.001")) == Decimal(equivalent_t)


def test_more_capacity_at_the_end_means_less_in_the_air():
    """The sign of the capacity term: charge that new units hold hasn't gone to the air."""
    before = MaterialBalance(0, 0, 100, 0, 50, 50).emitted_mg
    after = MaterialBalance(0, 0, 100, 0, 50, 60).emitted_mg

    assert after == before - 10
