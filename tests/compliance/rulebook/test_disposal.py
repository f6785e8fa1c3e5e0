"""Which disposals are to be on record: 40 CFR 82.156(a)(3), both ends of the range excluded."""

from datetime import date

import pytest

from compliance.rulebook.disposal import disposal_verdict
from compliance.rulebook.masses import parse_mass_mg
from compliance.rulebook.refrigerants import find

ON = date(2026, 6, 1)


@pytest.mark.parametrize(
    ("pounds", "is_recorded"),
    [
        ("4.99", False),
        ("5", False),
        ("5.01", True),
        ("30", True),
        ("49.99", True),
        ("50", False),
        ("50.01", False),
    ],
)
@pytest.mark.parametrize("designation", ["R-22", "R-410A"])
def test_more_than_5_and_less_than_50_lb(designation, pounds, is_recorded):
    verdict = disposal_verdict(find(designation), full_charge_mg=parse_mass_mg(pounds, "lb"), on=ON)

    assert verdict.is_recorded is is_recorded
    assert verdict.citation == "40 CFR 82.156(a)(3)"


def test_carbon_dioxide_is_exempt_in_any_use():
    verdict = disposal_verdict(find("R-744"), full_charge_mg=parse_mass_mg("20", "lb"), on=ON)

    assert not verdict.is_recorded
    assert verdict.citation == "40 CFR 82.154(a)(1)"


@pytest.mark.parametrize("designation", ["R-290", "R-717"])
def test_a_substitute_exempt_in_some_uses_is_taken_in_with_a_remark(designation):
    verdict = disposal_verdict(find(designation), full_charge_mg=parse_mass_mg("20", "lb"), on=ON)

    assert verdict.is_recorded
    assert "some end-uses" in verdict.remark
