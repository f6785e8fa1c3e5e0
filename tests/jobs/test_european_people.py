"""Who may do which work in Europe: Regulation (EU) 2024/573 Art. 10(1), (EU) 2024/2215 Art. 3(2) and (4)."""

import datetime

import pytest

from jobs.models import CertificationType
from jobs.selectors.appliances import charge_in_force
from jobs.selectors.european_scope import event_shortfall
from jobs.services.verification import records_verify
from tests.factories import (
    ApplianceFactory,
    CertificationFactory,
    CylinderFactory,
    SiteFactory,
    TechnicianFactory,
    charged,
    file_event,
    recovered,
    supply_cylinder,
)
from tests.jobs.refused import refused

pytestmark = pytest.mark.django_db

A1, A2, D, E = (CertificationType[f"EU_{name}"] for name in ("A1", "A2", "D", "E"))


def berlin(full_charge="60 lb", **fields):
    return ApplianceFactory(
        site=SiteFactory(jurisdiction="eu", time_zone="Europe/Berlin"), full_charge=full_charge, **fields
    )


def day(text):
    return datetime.date.fromisoformat(text)


def test_a_certificate_of_the_union_is_asked_for_and_one_of_the_united_states_is_not():
    filed = file_event(berlin(), technician=TechnicianFactory(certified=A1)).event

    refusal = refused(file_event, berlin(), technician=TechnicianFactory())["technician"]

    assert filed.certification.type == A1
    assert refusal.citation == "Regulation (EU) 2024/573 Art. 10(1)"
    assert list(records_verify()) == []


def test_work_beyond_the_certificate_is_refused_with_the_article():
    technician = TechnicianFactory(certified=A2)

    refusal = refused(file_event, berlin("60 lb"), technician=technician)["technician"]

    assert "A2 covers a charge below 3 kg; this one is 27.216 kg" in refusal.expected
    assert "2024/2215 Art. 3(2)" in refusal.citation
    # 6 lb are 2.722 kg.
    assert file_event(berlin("6 lb"), technician=technician).event.certification.type == A2


def test_leak_checks_alone_are_covered_until_the_circuit_is_opened_or_refrigerant_moved():
    technician, appliance = TechnicianFactory(certified=E), berlin()
    checks = ("leak_inspection", "verification")

    assert file_event(appliance, technician=technician, work_kinds=checks).event.certification.type == E
    for more in (
        {"work_kinds": (*checks, "service")},
        {"work_kinds": checks, "is_circuit_opened": True},
        {"work_kinds": checks, "transfers": (charged(supply_cylinder(), "1 lb"),)},
    ):
        assert "technician" in refused(file_event, appliance, technician=technician, **more)


def test_recovery_alone_is_covered_at_disposal_and_not_with_an_addition():
    technician, appliance = TechnicianFactory(certified=D), berlin("6 lb")
    out, back = recovered(CylinderFactory(), "2 lb"), charged(supply_cylinder(), "1 lb")

    event = file_event(appliance, technician=technician, work_kinds=("disposal",), transfers=(out,)).event

    assert event.certification.type == D
    assert "technician" in refused(
        file_event, appliance, technician=technician, work_kinds=("disposal",), transfers=(out, back)
    )


def test_the_certificate_that_covers_the_work_is_named_whatever_was_issued_later():
    technician = TechnicianFactory(certified=A1)
    CertificationFactory(technician=technician, type=E, issued_on=day("2025-01-07"))

    assert file_event(berlin(), technician=technician).event.certification.type == A1


def test_what_rests_on_memory_is_filed_and_told():
    leeds = ApplianceFactory(site=SiteFactory(jurisdiction="uk", time_zone="Europe/London"))
    technician = TechnicianFactory(certified="gb_category_iv")

    event = file_event(leeds, technician=technician).event

    shortfall = event_shortfall(event, charge=_charge(event))
    assert event.certification.type == "gb_category_iv"
    assert "(from memory)" in shortfall.because
    assert shortfall.is_binding is False


# (EU) 2024/2215 Art. 3(4): enrolled and supervised, 24 months at most.
@pytest.mark.parametrize(
    ("enrolled_on", "is_allowed"),
    [("2024-03-02", True), ("2024-03-01", False), ("2026-03-02", True), ("2026-03-03", False)],
)
def test_a_trainee_works_supervised_for_24_months(enrolled_on, is_allowed):
    trainee = TechnicianFactory(
        certified=False, is_apprentice=True, apprentice_registered_on=day(enrolled_on)
    )
    people = {"technician": trainee, "supervisor": TechnicianFactory(certified=A1)}

    if is_allowed:
        assert file_event(berlin(), **people).event.certification.technician == people["supervisor"]
    else:
        assert "Art. 3(4)" in refused(file_event, berlin(), **people)["technician"].citation


@pytest.mark.parametrize("certified", [None, False, A2])
def test_a_trainees_supervisor_is_certified_for_the_work(certified):
    trainee = TechnicianFactory(
        certified=False, is_apprentice=True, apprentice_registered_on=day("2025-06-02")
    )
    supervisor = None if certified is None else TechnicianFactory(certified=certified)

    assert refused(file_event, berlin(), technician=trainee, supervisor=supervisor).keys() == {"supervisor"}


def _charge(event):

    return charge_in_force(event.appliance, event.happened_on, without=event)
