"""Amendments and voids: the former record stays, its transfers are reversed, and leaks keep their identity."""

import datetime
from dataclasses import replace
from uuid import uuid4

import pytest

from jobs.models import ServiceEvent, Transfer
from jobs.selectors.events import current_events, event_line
from jobs.selectors.ledger import appliance_book_mg, cylinder_contents, refrigerant_totals
from jobs.services.events import service_event_amend, service_event_file, service_event_void
from jobs.services.submission import InspectionEntry, LeakEntry, RepairEntry, StatementEntry
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

LATER = FILED_AT + datetime.timedelta(days=3)
INSPECTION = InspectionEntry("Electronic detector")


def filed(visit):
    return service_event_file(by=UserFactory(), submission=visit, filed_at=FILED_AT).event


def amend(event, visit, **fields):
    """Amend with ``visit`` changed by ``fields``, under a submission of its own."""
    return service_event_amend(
        by=UserFactory(),
        event=event,
        submission=replace(visit, submission_id=uuid4(), **fields),
        reason="Misread the scale.",
        filed_at=LATER,
    ).event


def void(event):
    return service_event_void(by=UserFactory(), event=event, reason="Wrong appliance.", filed_at=LATER).event


def test_amendment_supersedes_and_moves_the_right_mass():
    cylinder = supply_cylinder("25 lb")
    visit = submission(transfers=(charged(cylinder, "7 lb"),))
    former = filed(visit)

    amended = amend(former, visit, transfers=(charged(cylinder, "9 lb"),))

    assert (amended.supersedes, amended.original) == (former, former)
    assert (amended.amendment_reason, amended.filed_at) == ("Misread the scale.", LATER)
    assert appliance_book_mg(visit.appliance) == entered("9 lb").mass_mg
    assert cylinder_contents(cylinder) == {"R-410A": entered("25 lb").mass_mg - entered("9 lb").mass_mg}
    assert refrigerant_totals() == {"R-410A": 0}
    reversal = amended.transfers.get(reverses__isnull=False)
    undone = former.transfers.get()
    assert reversal.reverses == undone
    assert (reversal.from_holder, reversal.to_holder) == (undone.to_holder, undone.from_holder)


def test_former_record_stays_as_it_was():
    cylinder = supply_cylinder("25 lb")
    visit = submission(transfers=(charged(cylinder, "7 lb"),))
    former = filed(visit)
    canonical = former.canonical()

    amend(former, visit, transfers=(charged(cylinder, "9 lb"),), work_done="Topped up.")

    assert ServiceEvent.objects.get(pk=former.pk).canonical() == canonical


def test_amendment_counts_what_the_former_record_moved_as_given_back():
    cylinder = supply_cylinder("7 lb")
    visit = submission(transfers=(charged(cylinder, "7 lb"),))
    former = filed(visit)

    amended = amend(former, visit, transfers=(charged(cylinder, "6.5 lb"),))
    amended = amend(amended, visit, transfers=(charged(cylinder, "7 lb"),))

    assert cylinder_contents(cylinder) == {}
    assert refused(amend, amended, visit, transfers=(charged(cylinder, "7.1 lb"),)).keys() == {
        "transfers-0-mass"
    }


def test_amendment_moves_the_day_of_what_was_moved():
    cylinder = supply_cylinder("25 lb")
    visit = submission(transfers=(charged(cylinder, "7 lb"),))

    amend(filed(visit), visit, happened_on=datetime.date(2026, 3, 5))

    assert appliance_book_mg(visit.appliance, on=datetime.date(2026, 3, 4)) == 0
    assert appliance_book_mg(visit.appliance, on=datetime.date(2026, 3, 5)) == entered("7 lb").mass_mg


def test_amendment_is_held_against_the_day_it_is_filed_on():
    visit = submission()
    former = filed(visit)

    assert refused(amend, former, visit, happened_on=datetime.date(2026, 3, 6)).keys() == {"happened_on"}
    assert amend(former, visit, happened_on=datetime.date(2026, 3, 5)).pk


def test_amendment_is_refused_when_later_records_drew_on_what_it_takes_back():
    appliance, cylinder = ApplianceFactory(), CylinderFactory()
    visit = submission(
        appliance, transfers=(recovered(cylinder, "10 lb"),), happened_on=datetime.date(2026, 2, 1)
    )
    former = filed(visit)
    file_event(appliance, transfers=(charged(cylinder, "8 lb"),))

    assert refused(amend, former, visit, transfers=(recovered(cylinder, "7 lb"),)).keys() == {
        "transfers-0-mass"
    }
    assert refused(amend, former, visit, transfers=()).keys() == {"transfers"}
    assert refused(void, former).keys() == {"transfers"}
    assert amend(former, visit, transfers=(recovered(cylinder, "8 lb"),)).pk


def test_only_the_record_that_stands_is_amended():
    visit = submission()
    former = filed(visit)
    amended = amend(former, visit, work_done="Other work.")

    refusals = refused(amend, former, visit, work_done="Third version.")

    assert str(amended) in refusals["event"].expected
    assert refused(void, former).keys() == {"event"}


def test_amendment_needs_a_reason_and_the_same_appliance():
    visit = submission()
    former = filed(visit)
    fields = {"by": UserFactory(), "event": former, "filed_at": LATER}
    elsewhere = submission(technician=visit.technician)

    assert refused(
        service_event_amend, submission=submission(visit.appliance), reason=" ", **fields
    ).keys() == {"reason"}
    assert refused(service_event_amend, submission=elsewhere, reason="Wrong one.", **fields).keys() == {
        "appliance"
    }


def test_amendment_sent_twice_is_filed_once():
    visit = submission()
    fields = {
        "by": UserFactory(),
        "event": filed(visit),
        "reason": "Typing error.",
        "filed_at": LATER,
        "submission": replace(visit, submission_id=uuid4(), work_done="Other work."),
    }

    first, again = service_event_amend(**fields), service_event_amend(**fields)

    assert (again.event, again.was_already_filed) == (first.event, True)
    changed = {**fields, "submission": replace(fields["submission"], work_done="Third version.")}
    assert refused(service_event_amend, **changed).keys() == {"submission_id"}


def test_amendment_sent_twice_is_known_by_its_leaks_as_typed():
    found = {"inspection": INSPECTION, "leaks_found": (LeakEntry("new-1", "Coil", "Air handler"),)}
    visit = submission(**found)
    fields = {
        "by": UserFactory(),
        "event": filed(visit),
        "reason": "Typing error.",
        "filed_at": LATER,
        "submission": replace(visit, submission_id=uuid4(), work_done="Other work."),
    }

    assert service_event_amend(**fields).event == service_event_amend(**fields).event


def test_amendment_does_not_take_a_submission_that_was_filed():
    visit = submission()
    former = filed(visit)

    refusals = refused(
        service_event_amend,
        by=UserFactory(),
        event=former,
        submission=visit,
        reason="Typing error.",
        filed_at=LATER,
    )

    assert refusals.keys() == {"submission_id"}


def test_refused_amendment_leaves_the_former_record_standing():
    visit = submission(transfers=(charged(supply_cylinder("7 lb"), "7 lb"),))
    former = filed(visit)

    refused(amend, former, visit, work_done="")

    assert list(current_events(visit.appliance)) == [former]
    assert Transfer.objects.filter(reverses__isnull=False).count() == 0


def test_void_takes_everything_back():
    cylinder = supply_cylinder("25 lb")
    visit = submission(transfers=(charged(cylinder, "7 lb"),))
    former = filed(visit)

    voided = void(former)

    assert (voided.is_void, voided.supersedes) == (True, former)
    assert cylinder_contents(cylinder) == {"R-410A": entered("25 lb").mass_mg}
    assert appliance_book_mg(visit.appliance) == 0
    assert list(current_events(visit.appliance)) == []
    assert refused(void, voided).keys() == {"event"}
    assert refused(amend, voided, visit, work_done="Other.").keys() == {"event"}


class TestLeaks:
    """A leak's identity stays with its appliance whatever becomes of the record that found it."""

    @pytest.fixture
    def visit(self):
        places = (LeakEntry("new-1", "Flare fitting", "Condenser"), LeakEntry("new-2", "Coil", "Air handler"))
        return submission(inspection=INSPECTION, leaks_found=places)

    def test_leak_at_the_same_place_keeps_its_identity(self, visit):
        former = filed(visit)
        first, second = visit.appliance.leaks.all()

        amended = amend(former, visit, leaks_found=(LeakEntry("new-1", "Coil", "Air handler"),))

        assert amended.leak_findings.get().leak == second
        assert first.findings.get().event == former

    def test_leak_that_is_named_keeps_its_identity_at_another_place(self, visit):
        former = filed(visit)
        leak = visit.appliance.leaks.first()

        moved = LeakEntry("new-1", "Flare nut", "Receiver", leak)
        amended = amend(former, visit, leaks_found=(moved,), repairs=(RepairEntry("new-1", "Remade"),))

        assert amended.leak_findings.get().leak == leak
        assert amended.repairs.get().leak == leak

    def test_leak_found_anew_takes_a_number_of_its_own(self, visit):
        amended = amend(filed(visit), visit, leaks_found=(LeakEntry("new-1", "Valve", "Receiver"),))

        assert amended.leak_findings.get().leak.number == 3

    def test_leak_that_others_speak_of_is_not_dropped(self, visit):
        former = filed(visit)
        leak = visit.appliance.leaks.first()
        repair = file_event(visit.appliance, repairs=(RepairEntry(leak, "Remade"),)).event

        for refusals in (refused(amend, former, visit, leaks_found=()), refused(void, former)):
            assert str(repair) in refusals["leaks"].expected
        kept = LeakEntry("new-1", "Flare fitting", "Condenser")
        assert amend(former, visit, leaks_found=(kept,)).leak_findings.get().leak == leak

    def test_leak_of_a_voided_record_is_unknown(self, visit):
        former = filed(visit)
        leak = visit.appliance.leaks.first()
        void(former)

        assert refused(file_event, visit.appliance, repairs=(RepairEntry(leak, "Remade"),)).keys() == {
            "repairs-0-leak"
        }


def test_amended_event_keeps_its_place_among_the_days_visits():
    appliance = ApplianceFactory()
    morning, noon = submission(appliance, work_done="Morning."), submission(appliance, work_done="Noon.")
    first, second = filed(morning), filed(noon)

    amended = amend(amend(first, morning, work_done="Early."), morning, work_done="Earlier.")

    assert list(current_events(appliance)) == [amended, second]
    assert [event.work_done for event in event_line(amended)] == ["Morning.", "Early.", "Earlier."]


def test_records_can_be_asked_for_as_known_at_an_instant():
    visit = submission()
    former = filed(visit)
    amended = amend(former, visit, work_done="Other work.")
    void(amended)

    before = FILED_AT - datetime.timedelta(seconds=1)

    assert list(current_events(visit.appliance, known_at=before)) == []
    assert list(current_events(visit.appliance, known_at=FILED_AT)) == [former]
    assert list(current_events(visit.appliance, known_at=LATER)) == []


def test_full_charge_stated_by_the_former_record_no_longer_counts():
    visit = submission(statements=(StatementEntry("full_charge_change", {"full_charge_mg": 1_000_000_000}),))
    former = filed(visit)
    others = {"origin": "other_contractor", "contractor_name": "Drayton", "technician": None}

    amended = amend(former, visit, statements=())

    assert amended.statements.count() == 0
    # 20 full charges of 60 lb are 1200 lb.
    assert refused(file_event, visit.appliance, transfers=(charged(None, "1300 lb"),), **others)
