"""What stands in the list of what runs out, with which last day, and what is left out of it."""

import pytest

from compliance.selectors.expiries import expiries
from jobs.services.calibrations import calibration_correct
from jobs.services.technicians import certification_change, technician_change
from tests.compliance.firm import day, noon
from tests.compliance.running_out import apprentice, calibrate, calibrated_scale, certificate
from tests.factories import CertificationFactory, CylinderFactory, TechnicianFactory, UserFactory
from tests.jobs.cylinder_acts import decide_period, move, requalify, withdraw

pytestmark = pytest.mark.django_db

TODAY = day("2026-06-01")


def _listed():
    return [(expiry.kind.value, str(expiry.last_on)) for expiry in expiries(TODAY)]


def test_everything_is_listed_soonest_first():
    certificate("2026-07-01")
    calibrated_scale("2026-06-02")
    CylinderFactory(requalified_on=day("2021-05-20"))
    apprentice("2024-06-15")

    assert _listed() == [
        ("requalification", "2026-05-31"),
        ("calibration", "2026-06-02"),
        ("apprenticeship", "2026-06-15"),
        ("certificate", "2026-07-01"),
    ]


def test_what_has_no_last_day_is_not_listed():
    TechnicianFactory(certified="universal")
    CertificationFactory(type="gb_category_i")
    CylinderFactory(requalified_on=None)
    CylinderFactory(kind="disposable")

    assert _listed() == []


@pytest.mark.parametrize(
    "changes",
    [{"ended_on": TODAY, "ended_because": "Revoked by its issuer"}, {"expires_on": None}],
)
def test_a_certificate_that_ended_is_dropped_and_a_changed_one_moves(changes):
    row = certificate("2026-07-01")

    certification_change(by=UserFactory(), certification=row, recorded_at=noon(TODAY), **changes)

    # 7 years after the issue on 3 June 2024: Regulation (EU) 2024/573 Art. 10(9).
    assert _listed() == ([] if row.ended_on else [("certificate", "2031-06-03")])


def test_a_newer_certificate_of_the_type_replaces_an_older_one():
    older = certificate("2026-07-01")
    newer = CertificationFactory(technician=older.technician, type="eu_a1", issued_on=day("2026-05-04"))
    assert _listed() == [("certificate", "2033-05-04")]

    certification_change(
        by=UserFactory(),
        certification=newer,
        ended_on=TODAY,
        ended_because="Issued by mistake",
        recorded_at=noon(TODAY),
    )

    assert _listed() == [("certificate", "2026-07-01")]


def test_who_left_the_firm_is_dropped():
    technician_change(by=UserFactory(), technician=certificate().technician, is_active=False)
    technician_change(by=UserFactory(), technician=apprentice(), is_active=False)

    assert _listed() == []


@pytest.mark.parametrize(
    ("held", "is_listed"),
    [
        (["type_ii"], True),
        (["type_i", "type_ii"], True),
        (["type_i", "type_ii", "type_iii"], False),
        (["universal"], False),
    ],
)
def test_an_apprentice_certified_for_every_class_is_dropped(held, is_listed):
    # Type II alone covers no small appliance: 40 CFR 82.161(b).
    person = apprentice()
    for kind in held:
        CertificationFactory(technician=person, type=kind)

    assert bool(_listed()) is is_listed


def test_a_passed_test_or_another_period_moves_a_cylinders_last_day():
    cylinder = CylinderFactory(requalified_on=day("2021-02-03"))
    assert _listed() == [("requalification", "2026-02-28")]

    decide_period(cylinder, 7)
    assert _listed() == [("requalification", "2028-02-29")]

    requalify(cylinder, happened_on=day("2026-03-02"))
    assert _listed() == [("requalification", "2033-03-31")]


def test_a_condemned_retired_or_absent_cylinder_is_dropped():
    cylinder = CylinderFactory(requalified_on=day("2021-02-03"))

    condemned = requalify(cylinder, result="condemned")
    assert _listed() == []
    withdraw(condemned)
    assert len(_listed()) == 1
    back = move(cylinder, "away", firm_name="Quarry Lane Cooling", reason="returned_empty")
    assert _listed() == []
    withdraw(back)
    assert len(_listed()) == 1
    move(cylinder, "away", firm_name="Marsh Metals", reason="retired")
    assert _listed() == []


def test_the_newest_calibration_that_stands_counts():
    scale = calibrated_scale("2026-06-02")
    newer = calibrate(scale, "2026-05-04", due_on=day("2027-05-04"))
    assert _listed() == [("calibration", "2027-05-04")]

    calibration_correct(
        by=UserFactory(), calibration=newer, reason="Of another scale.", is_void=True, recorded_at=noon(TODAY)
    )
    assert _listed() == [("calibration", "2026-06-02")]

    scale.is_in_use = False
    scale.save()
    assert _listed() == []


def test_the_list_takes_a_fixed_number_of_queries(django_assert_num_queries):
    for _ in range(3):
        certificate()
        apprentice()
        calibrated_scale()
        CylinderFactory()

    with django_assert_num_queries(4):
        assert len(expiries(TODAY)) == 12
