"""Certificates against appliances: 40 CFR 82.161 and the classes of 82.152."""

from dataclasses import replace
from datetime import date

import pytest

from compliance.rulebook.appliance_class import Circuit
from compliance.rulebook.certification import (
    CertificationType,
    apprentice_exemption_ends_on,
    covers,
    disposal_without_certificate,
)
from compliance.rulebook.errors import InvalidInput
from compliance.rulebook.masses import parse_mass_mg
from compliance.rulebook.refrigerants import find
from compliance.rulebook.tables import Tables, load_tables

WORKED_ON = date(2026, 3, 2)


def circuit(refrigerant, pounds, *, sealed=False, mvac=False):
    return Circuit(find(refrigerant), parse_mass_mg(pounds, "lb"), sealed, mvac)


def covering(refrigerant, pounds, **kind):
    """The certificates that cover such an appliance."""
    appliance = circuit(refrigerant, pounds, **kind)
    return [kind.value for kind in CertificationType if covers(kind, appliance, on=WORKED_ON).is_covered]


@pytest.mark.parametrize(
    ("refrigerant", "certificates"),
    [
        ("R-123", ["type_iii", "universal"]),
        ("R-11", ["type_iii", "universal"]),
        ("R-134a", ["type_ii", "universal"]),
        ("R-410A", ["type_ii", "universal"]),
        ("R-23", ["type_ii", "universal"]),
    ],
)
def test_pressure_class_decides_the_certificate(refrigerant, certificates):
    assert covering(refrigerant, 60) == certificates


@pytest.mark.parametrize(
    ("pounds", "sealed", "certificates"),
    [
        ("5", True, ["type_i", "universal"]),
        ("5.001", True, ["type_ii", "universal"]),
        ("5", False, ["type_ii", "universal"]),
    ],
)
def test_a_small_appliance_is_hermetically_sealed_and_of_5_lb_at_most(pounds, sealed, certificates):
    assert covering("R-134a", pounds, sealed=sealed) == certificates


@pytest.mark.parametrize(
    ("refrigerant", "pounds", "certificates"),
    [
        ("R-134a", 20, ["type_ii", "universal", "section_609"]),
        ("R-134a", "20.001", ["type_ii", "universal"]),
        ("R-123", 20, ["type_ii", "universal", "section_609"]),
        ("R-123", 21, ["type_iii", "universal"]),
        ("R-22", 20, ["type_ii", "universal"]),
    ],
)
def test_cab_cooling_up_to_20_lb_is_covered_by_type_ii_and_section_609(refrigerant, pounds, certificates):
    assert covering(refrigerant, pounds, mvac=True) == certificates


def test_the_reason_says_when_the_pressure_class_is_not_named_in_the_law():
    named, reckoned = (covers("type_ii", circuit(name, 20), on=WORKED_ON) for name in ("R-410A", "R-32"))

    assert "104 °F" not in named.because
    assert "104 °F" in reckoned.because


def test_an_unknown_certificate_is_refused():
    with pytest.raises(InvalidInput) as refused:
        covers("type_iv", circuit("R-22", 1), on=WORKED_ON)

    assert refused.value.field == "certification_type"


# 40 CFR 82.161(a)(1)(vii): small appliances, MVACs and MVAC-like appliances.
@pytest.mark.parametrize(
    ("appliance", "is_exempt"),
    [
        (circuit("R-134a", 5, sealed=True), True),
        (circuit("R-134a", "5.001", sealed=True), False),
        (circuit("R-134a", 20, mvac=True), True),
        (circuit("R-134a", "20.001", mvac=True), False),
        (circuit("R-22", 20, mvac=True), False),
        (circuit("R-134a", 1), False),
    ],
)
def test_disposal_takes_no_certificate_of_small_and_mvac_like_appliances(appliance, is_exempt):
    answer = disposal_without_certificate(appliance, on=WORKED_ON)

    assert answer.is_covered is is_exempt
    assert answer.citation == ("40 CFR 82.161(a)(1)(vii)" if is_exempt else "40 CFR 82.161")


def _from_2030(key, **changes):
    """The tables with the rows of a key replaced from 2030 on, or dropped where nothing is changed."""
    rows = []
    for row in load_tables().rows:
        if row.key != key:
            rows.append(row)
            continue
        rows.append(replace(row, effective_to=date(2029, 12, 31)))
        if changes:
            rows.append(replace(row, effective_from=date(2030, 1, 1), **changes))
    return Tables(tuple(rows), "another law from 2030 on")


@pytest.mark.parametrize(
    ("on", "is_covered"),
    [(date(1992, 6, 1), True), (date(2029, 12, 31), True), (date(2030, 1, 1), False)],
)
def test_a_certificate_covers_what_the_law_of_the_day_of_the_work_says(on, is_covered):
    tables = _from_2030("certification_type_ii")

    assert covers("type_ii", circuit("R-22", 60), on=on, tables=tables).is_covered is is_covered


def test_disposal_goes_by_the_law_of_its_day():
    tables = _from_2030("disposal_without_certificate")
    sealed = circuit("R-134a", 5, sealed=True)

    answers = [
        disposal_without_certificate(sealed, on=on, tables=tables).is_covered
        for on in (date(2029, 12, 31), date(2030, 1, 1))
    ]

    assert answers == [True, False]


@pytest.mark.parametrize(
    ("registered_on", "ends_on"),
    [
        (date(1992, 6, 1), date(1994, 6, 1)),
        (date(2029, 12, 31), date(2031, 12, 31)),
        (date(2030, 1, 1), date(2033, 1, 1)),
    ],
)
def test_an_apprentice_has_the_years_of_the_day_of_registration(registered_on, ends_on):
    tables = _from_2030("apprentice_exemption", value="3")

    assert apprentice_exemption_ends_on(registered_on, tables) == ends_on
