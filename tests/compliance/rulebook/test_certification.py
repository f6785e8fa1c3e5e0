"""Certificates against appliances: 40 CFR 82.161 and the classes of 82.152."""

import pytest

from compliance.rulebook.certification import CertificationType, covers
from compliance.rulebook.errors import InvalidInput
from compliance.rulebook.masses import parse_mass_mg
from compliance.rulebook.refrigerants import find


def covering(refrigerant, pounds, *, sealed=False, mvac=False):
    """The certificates that cover such an appliance."""
    return [
        kind.value
        for kind in CertificationType
        if covers(
            kind,
            refrigerant=find(refrigerant),
            full_charge_mg=parse_mass_mg(pounds, "lb"),
            is_hermetically_sealed=sealed,
            is_mvac_like=mvac,
        ).is_covered
    ]


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
        ("R-134a", 20, ["type_ii", "universal"]),
        ("R-123", 20, ["type_ii", "universal"]),
        ("R-123", 21, ["type_iii", "universal"]),
        ("R-22", 20, ["type_ii", "universal"]),
    ],
)
def test_cab_cooling_up_to_20_lb_is_covered_by_type_ii(refrigerant, pounds, certificates):
    assert covering(refrigerant, pounds, mvac=True) == certificates


def test_the_reason_says_when_the_pressure_class_is_not_named_in_the_law():
    named, reckoned = (
        covers("type_ii", refrigerant=find(name), full_charge_mg=10**7, is_hermetically_sealed=False)
        for name in ("R-410A", "R-32")
    )

    assert "104 °F" not in named.because
    assert "104 °F" in reckoned.because


def test_an_unknown_certificate_is_refused():
    with pytest.raises(InvalidInput) as refused:
        covers("type_iv", refrigerant=find("R-22"), full_charge_mg=1, is_hermetically_sealed=False)

    assert refused.value.field == "certification_type"
