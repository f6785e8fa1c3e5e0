"""Descriptions on shipping papers.

The numbers are those of the United Nations' list of dangerous goods, which 49 CFR 172.101 takes over; recalled from
memory, as the rows are, so that what is checked here is how they are put together.
"""

from datetime import date

import pytest

from compliance.rulebook.refrigerants import all_refrigerants, find
from compliance.rulebook.shipping import FLAMMABLE_GAS, NON_FLAMMABLE_GAS, shipping_description

ON = date(2026, 11, 27)


def described(designation, on=ON):
    return shipping_description(find(designation), on=on)


@pytest.mark.parametrize(
    ("designation", "line"),
    [
        ("R-22", "UN1018, Refrigerant gas R 22, 2.2"),
        ("R-134a", "UN3159, Refrigerant gas R 134a, 2.2"),
        ("R-32", "UN3252, Refrigerant gas R 32, 2.1"),
        ("R-404A", "UN3337, Refrigerant gas R 404A, 2.2"),
        ("R-410A", "UN3163, Liquefied gas, n.o.s. (Difluoromethane, Pentafluoroethane), 2.2"),
        (
            "R-454B",
            "UN3161, Liquefied gas, flammable, n.o.s. (Difluoromethane, 2,3,3,3-Tetrafluoropropene), 2.1",
        ),
    ],
)
def test_a_description_stands_in_the_sequence_of_172_202(designation, line):
    found = described(designation)

    assert found.in_words == line
    assert found.is_flammable == line.endswith("2.1")


@pytest.mark.parametrize("designation", ["R-123", "R-717", "R-408A", "R-458A"])
def test_what_the_tables_do_not_know_is_left_to_the_shipper(designation):
    assert described(designation) is None


def test_nothing_is_described_before_its_row_is_in_force():
    assert described("R-22", date(2003, 5, 29)) is None


def test_every_description_is_from_memory_and_says_so():
    found = [one for each in all_refrigerants() if (one := shipping_description(each, on=ON))]

    assert found
    assert not any(one.row.is_confirmed for one in found)
    assert {one.hazard_class for one in found} == {FLAMMABLE_GAS, NON_FLAMMABLE_GAS}


def test_what_burns_by_ashrae_34_is_flammable_in_transport():
    """R-1234ze(E) alone burns by ASHRAE 34 (at 60 °C) and not in transport, which looks at 20 °C (49 CFR 173.115)."""
    burning = [each for each in all_refrigerants() if each.safety_class[1:2] in ("2", "3")]
    found = {each.designation: one for each in burning if (one := shipping_description(each, on=ON))}

    assert {name for name, one in found.items() if not one.is_flammable} == {"R-1234ze(E)"}


def test_generic_names_alone_have_technical_names():
    for each in all_refrigerants():
        found = shipping_description(each, on=ON)
        if found:
            assert bool(found.technical_names) == found.proper_shipping_name.endswith("n.o.s.")
