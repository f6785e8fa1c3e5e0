"""Recovered refrigerant: Regulation (EU) 2024/573 Art. 7(1)(g), 8, 10(1); in Great Britain 517/2014 Art. 6, 8."""

import datetime

import pytest

from compliance.rulebook.recovered_refrigerant import container_disposal, recovery_duties, use_of_recovered
from compliance.rulebook.refrigerants import find

ON = datetime.date(2026, 3, 2)


def test_the_european_union_names_every_paragraph():
    duties = recovery_duties("eu", find("R-410A"), on=ON)

    assert [row.citation.removeprefix("Regulation (EU) 2024/573 ") for row in duties] == [
        "Art. 8(1), 10(1)",
        "Art. 8(6)",
        "Art. 8(1), (2)",
        "Art. 7(1)(g)",
    ]
    assert all(row.is_confirmed for row in duties)


def test_what_great_britain_asks_rests_on_memory_and_bars_no_use():
    duties = recovery_duties("uk", find("R-410A"), on=ON)

    assert [row.is_confirmed for row in duties if "Art. 8" in row.citation] == [False, False]
    assert use_of_recovered("uk", find("R-410A"), on=ON) is None


@pytest.mark.parametrize(
    ("refrigerant", "is_covered"),
    [
        ("R-410A", True),
        ("R-1234yf", True),
        ("R-454B", True),
        ("R-744", False),
        ("R-290", False),
        ("R-22", False),
    ],
)
def test_fluorinated_gases_alone_are_covered(refrigerant, is_covered):
    assert (use_of_recovered("eu", find(refrigerant), on=ON) is not None) is is_covered


def test_nothing_is_asked_before_the_regulation_or_elsewhere():
    assert recovery_duties("eu", find("R-410A"), on=datetime.date(2024, 3, 10)) == ()
    assert recovery_duties("us-federal", find("R-410A"), on=ON) == ()


@pytest.mark.parametrize(
    ("rule", "refrigerant", "is_asked"),
    [
        ("eu", "R-410A", True),
        ("eu", "R-290", False),
        ("uk", "R-410A", False),
        ("us-federal", "R-410A", False),
    ],
)
def test_a_containers_residual_gas_is_recovered_before_its_disposal(rule, refrigerant, is_asked):
    # Regulation (EU) 2024/573 Art. 8(7); what Great Britain asks was not read.
    asked = container_disposal(rule, find(refrigerant), on=ON)

    assert (asked is not None and asked.citation.endswith("Art. 8(7)")) is is_asked
