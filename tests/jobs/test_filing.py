"""Filing a visit: what is written, that it is all or nothing, and that the same visit is filed once."""

import datetime
from dataclasses import replace
from decimal import Decimal
from uuid import uuid4

import pytest

from jobs.models import (
    ChainLink,
    Holder,
    HolderKind,
    Leak,
    ServiceEvent,
    Statement,
    StatementKind,
    Transfer,
)
from jobs.selectors.ledger import appliance_book_mg, cylinder_contents, refrigerant_totals
from jobs.services.events import service_event_file, service_event_void
from jobs.services.submission import InspectionEntry, LeakEntry, RepairEntry, StatementEntry, TestEntry
from jobs.signals import service_event_filed
from tests.factories import (
    FILED_AT,
    ApplianceFactory,
    CylinderFactory,
    UserFactory,
    charged,
    entered,
    file_event,
    recovered,
    submission,
    supply_cylinder,
)
from tests.jobs.refused import refused

pytestmark = pytest.mark.django_db


def leaky_visit(appliance, cylinder):
    """A visit that finds a leak, repairs it, tests it and tops up for it."""
    return submission(
        appliance,
        work_kinds=("leak_repair", "leak_inspection"),
        is_circuit_opened=True,
        opening_kind="major",
        final_vacuum=Decimal(400),
        final_vacuum_unit="micron",
        transfers=(charged(cylinder, "7 lb", leak="new-1"),),
        inspection=InspectionEntry("Electronic detector"),
        leaks_found=(LeakEntry("new-1", "Flare fitting", "Liquid line at the condenser"),),
        repairs=(RepairEntry("new-1", "Fitting remade", is_evacuated=True),),
        tests=(TestEntry("new-1", "initial_verification_test", "Nitrogen pressure", is_passed=True),),
        statements=(StatementEntry("normal_operation"),),
        owner_told_on=datetime.date(2026, 3, 2),
        owner_told_name="Ms Larkspur",
        owner_decision="accepted",
        signature_name="Ms Larkspur",
        signature_svg_path="M 1,2 L 3.5,-4",
    )


def test_visit_is_written_whole():
    appliance, cylinder = ApplianceFactory(), supply_cylinder("25 lb")
    visit = leaky_visit(appliance, cylinder)
    by = UserFactory()

    filing = service_event_file(by=by, submission=visit, filed_at=FILED_AT)

    event = ServiceEvent.objects.get()
    assert (filing.event, filing.was_already_filed) == (event, False)
    assert (event.filed_by, event.filed_at, event.happened_on) == (by, FILED_AT, visit.happened_on)
    assert event.certification == visit.technician.certifications.get()
    assert event.work_kinds == ["leak_inspection", "leak_repair"]
    leak = Leak.objects.get()
    assert leak.number == 1
    transfer = event.transfers.get()
    assert (transfer.mass_mg, transfer.entered_value, transfer.entered_unit) == (3_175_147, "7", "lb")
    assert (transfer.from_holder, transfer.to_holder) == (cylinder.holder, appliance.holder)
    assert {transfer.leak, event.repairs.get().leak, event.verification_tests.get().leak} == {leak}
    assert event.leak_findings.get().part == "Flare fitting"
    assert event.leak_inspection.methods == "Electronic detector"
    assert event.statements.get().kind == StatementKind.NORMAL_OPERATION


def test_visit_moves_mass_between_the_holders():
    appliance, supply, recovery = ApplianceFactory(), supply_cylinder("25 lb"), CylinderFactory()

    file_event(appliance, transfers=(recovered(recovery, "3 lb"), charged(supply, "7 lb")))

    assert cylinder_contents(supply) == {"R-410A": entered("25 lb").mass_mg - entered("7 lb").mass_mg}
    assert cylinder_contents(recovery) == {"R-410A": entered("3 lb").mass_mg}
    assert appliance_book_mg(appliance) == entered("7 lb").mass_mg - entered("3 lb").mass_mg
    assert refrigerant_totals() == {"R-410A": 0}


def test_other_contractors_work_moves_mass_from_their_account():
    appliance = ApplianceFactory()

    file_event(
        appliance,
        origin="other_contractor",
        contractor_name="Drayton Mechanical",
        technician=None,
        transfers=(charged(None, "9 lb"),),
    )

    holder = Holder.objects.get(kind=HolderKind.OTHER_CONTRACTOR)
    assert holder.name == "Drayton Mechanical"
    assert appliance_book_mg(appliance) == entered("9 lb").mass_mg


def test_second_leak_takes_the_appliances_next_number():
    appliance = ApplianceFactory()
    found = {"inspection": InspectionEntry("Bubbles"), "leaks_found": (LeakEntry("new-1", "Coil", "Roof"),)}

    file_event(appliance, **found)
    file_event(appliance, **found, happened_on=datetime.date(2026, 3, 1))

    assert list(appliance.leaks.values_list("number", flat=True)) == [1, 2]


def test_statement_keeps_its_details_in_plain_types():
    details = {"full_charge_mg": 30_000_000, "method": "measurement"}

    file_event(statements=(StatementEntry("full_charge_change", details),))

    assert Statement.objects.get().details == details


def test_refused_visit_leaves_nothing_behind():
    appliance, cylinder = ApplianceFactory(), supply_cylinder("25 lb")
    before = (Transfer.objects.count(), ChainLink.objects.count())
    visit = replace(leaky_visit(appliance, cylinder), happened_on=datetime.date(2026, 3, 3))

    refused(service_event_file, by=UserFactory(), submission=visit, filed_at=FILED_AT)

    assert (Transfer.objects.count(), ChainLink.objects.count()) == before
    assert (ServiceEvent.objects.count(), Leak.objects.count()) == (0, 0)


def test_failure_of_a_listener_undoes_the_filing():
    appliance, cylinder = ApplianceFactory(), supply_cylinder("25 lb")
    links = ChainLink.objects.count()

    def fail(**_):
        raise RuntimeError("the listener failed")

    service_event_filed.connect(fail)
    try:
        with pytest.raises(RuntimeError):
            file_event(appliance, transfers=(charged(cylinder),))
    finally:
        service_event_filed.disconnect(fail)

    assert ServiceEvent.objects.count() == 0
    assert ChainLink.objects.count() == links
    assert appliance_book_mg(appliance) == 0


def test_listeners_hear_of_the_filing_once():
    heard = []

    def listen(*, event, filed_at, **_):
        heard.append((event, filed_at))

    service_event_filed.connect(listen)
    visit = submission()
    try:
        first = service_event_file(by=UserFactory(), submission=visit, filed_at=FILED_AT)
        service_event_file(by=UserFactory(), submission=visit, filed_at=FILED_AT)
    finally:
        service_event_filed.disconnect(listen)

    assert heard == [(first.event, FILED_AT)]


def test_same_submission_twice_answers_with_the_first():
    cylinder = supply_cylinder("10 lb")
    visit = submission(transfers=(charged(cylinder, "7 lb"),))

    first = service_event_file(by=UserFactory(), submission=visit, filed_at=FILED_AT)
    # By now the cylinder holds too little for the visit: it must not be checked anew.
    again = service_event_file(by=UserFactory(), submission=visit, filed_at=FILED_AT)

    assert (again.event, again.was_already_filed) == (first.event, True)
    assert ServiceEvent.objects.count() == 1


def test_same_submission_with_other_contents_is_refused():
    visit = submission()
    first = service_event_file(by=UserFactory(), submission=visit, filed_at=FILED_AT)

    refusals = refused(
        service_event_file,
        by=UserFactory(),
        submission=replace(visit, work_done="Something else."),
        filed_at=FILED_AT,
    )

    assert str(first.event) in refusals["submission_id"].expected


def test_same_visit_under_another_submission_answers_with_the_first():
    visit = submission(signature_svg_path="M 1,2")
    first = service_event_file(by=UserFactory(), submission=visit, filed_at=FILED_AT)

    twin = replace(visit, submission_id=uuid4(), signature_svg_path="M 3,4")
    again = service_event_file(by=UserFactory(), submission=twin, filed_at=FILED_AT)

    assert (again.event, again.was_already_filed) == (first.event, True)


def test_same_visit_is_filed_again_when_said_to_be_a_separate_one():
    visit = submission()
    service_event_file(by=UserFactory(), submission=visit, filed_at=FILED_AT)

    twin = replace(visit, submission_id=uuid4(), is_separate_visit=True)
    again = service_event_file(by=UserFactory(), submission=twin, filed_at=FILED_AT)

    assert not again.was_already_filed
    assert ServiceEvent.objects.count() == 2


def test_same_visit_is_filed_again_when_the_first_was_voided():
    visit = submission()
    first = service_event_file(by=UserFactory(), submission=visit, filed_at=FILED_AT)
    service_event_void(by=UserFactory(), event=first.event, reason="Wrong day.", filed_at=FILED_AT)

    again = service_event_file(
        by=UserFactory(), submission=replace(visit, submission_id=uuid4()), filed_at=FILED_AT
    )

    assert not again.was_already_filed


@pytest.mark.parametrize("change", [{"work_done": "Other work."}, {"happened_on": datetime.date(2026, 3, 1)}])
def test_another_visit_is_filed_beside_the_first(change):
    visit = submission()
    service_event_file(by=UserFactory(), submission=visit, filed_at=FILED_AT)

    other = replace(visit, submission_id=uuid4(), **change)

    assert not service_event_file(by=UserFactory(), submission=other, filed_at=FILED_AT).was_already_filed


def test_filing_three_transfers_takes_few_queries(django_assert_max_num_queries):
    appliance, supply, recovery = ApplianceFactory(), supply_cylinder("25 lb"), CylinderFactory()
    transfers = (recovered(recovery, "3 lb"), charged(recovery, "3 lb"), charged(supply, "7 lb"))
    visit, by = submission(appliance, transfers=transfers), UserFactory()

    # About half of them are the reassessment that listens to the filing.
    with django_assert_max_num_queries(55):
        service_event_file(by=by, submission=visit, filed_at=FILED_AT)


def test_number_of_queries_does_not_grow_with_the_appliances_history(django_assert_max_num_queries):
    appliance, supply, by = ApplianceFactory(), supply_cylinder("25 lb"), UserFactory()
    for day in range(1, 16):
        file_event(
            appliance, happened_on=datetime.date(2026, 2, day), transfers=(charged(supply, "0.5 lb"),), by=by
        )
    visit = submission(appliance, transfers=(charged(supply, "0.5 lb"),))

    with django_assert_max_num_queries(80):
        service_event_file(by=by, submission=visit, filed_at=FILED_AT)
