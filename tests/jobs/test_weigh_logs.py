"""Logs of scales: kept as they came beside their transfer, covered by the chains, read anew at any time."""

import hashlib
import io
import threading
import uuid

import pytest
from django.core.exceptions import PermissionDenied
from django.core.management import CommandError, call_command
from django.db import connection

from jobs.errors import SubmissionRefused
from jobs.models import ChainLink, WeighLog, WeighLogFile, WeighLogReading
from jobs.services.events import service_event_amend, service_event_file
from jobs.services.verification import records_verify
from jobs.services.weigh_logs import weigh_log_add
from tests import people
from tests.factories import (
    FILED_AT,
    ApplianceFactory,
    CylinderFactory,
    ScaleFactory,
    UserFactory,
    charged,
    file_event,
    recovered,
    submission,
    supply_cylinder,
)
from tests.filed_tables import unfixed_tables
from tests.jobs.logged_visits import LATER, add, entry, file_with_log, log_of, refusals_of
from tests.scale_logs import scale_log

pytestmark = pytest.mark.django_db


def run(statement, *values):
    with unfixed_tables(), connection.cursor() as cursor:
        cursor.execute(statement, values)


# --- Filed with the event ---


def test_log_is_kept_byte_by_byte_with_its_hash():
    content = b"\xef\xbb\xbf" + scale_log()

    log = log_of(file_with_log(log=entry(content, name="Scale 7 – März.csv")))

    assert log.file.content == content
    assert log.file_id == hashlib.sha256(content).hexdigest()
    assert log.file.byte_count == len(content)
    assert (log.name, log.is_added_later) == ("Scale 7 – März.csv", False)
    assert len(log.file.compressed) < len(content) / 3


def test_reading_gives_the_mass_that_flowed():
    reading = log_of(file_with_log()).reading

    # 7 lb of 453.59237 g (NIST Handbook 44, appendix C), as the log was made.
    assert reading.net_mg == pytest.approx(3_175_147, abs=100)
    assert 0 < reading.uncertainty_mg < 5_000
    assert reading.is_beyond_tolerance is False
    assert abs(reading.difference_mg) < 100
    assert reading.figures["direction"] == "out"
    assert len(reading.curve["times_s"]) == len(reading.curve["flow_kg_per_min"]) <= 600
    assert max(reading.curve["flow_kg_per_min"]) == pytest.approx(0.3175, rel=0.05)


@pytest.mark.parametrize(
    ("typed", "is_beyond"), [("7.00 lb", False), ("7.01 lb", False), ("7.10 lb", True), ("6.90 lb", True)]
)
def test_mass_that_differs_from_its_log_is_marked(typed, is_beyond):
    reading = log_of(file_with_log(typed)).reading

    assert reading.is_beyond_tolerance is is_beyond


def test_division_of_the_scale_counts_where_it_is_named():
    coarse = ScaleFactory(division_entered="100", division_unit="g", division_mg=100_000)
    log = entry(division_mg=coarse.division_mg)

    reading = log_of(file_with_log("7.10 lb", log=log, transfer={"scale": coarse})).reading

    assert reading.is_beyond_tolerance is False
    assert reading.tolerance_mg > 100_000


def test_log_is_part_of_its_events_hash():
    event = file_with_log()

    assert list(records_verify()) == []
    assert event.canonical()["transfers"][0]["weigh_log"]["sha256"] == log_of(event).file_id
    run("UPDATE jobs_weighlog SET name = 'other.csv' WHERE transfer_id = %s", event.transfers.get().pk)
    assert {(r.record_kind, r.record_id) for r in records_verify()} == {("service_event", event.pk)}


def test_records_without_a_log_say_nothing_of_it():
    event = file_event(transfers=(charged(supply_cylinder()),)).event

    assert "weigh_log" not in event.canonical()["transfers"][0]


def test_removed_log_is_named():
    event = file_with_log()
    run("DELETE FROM jobs_weighlogreading")
    run("DELETE FROM jobs_weighlog")

    assert ("service_event", event.pk) in {(r.record_kind, r.record_id) for r in records_verify()}


def test_changed_bytes_are_named(capsys):
    log = log_of(file_with_log())
    run("UPDATE jobs_weighlogfile SET compressed = %s", b"no longer the file")

    with pytest.raises(CommandError):
        call_command("verify_records")

    assert f"weigh log {log.pk}: its file doesn't match" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("direction", "rises", "words"),
    [
        ("in", True, "the weight falls, since refrigerant went into"),
        ("out", False, "the weight rises, since"),
    ],
)
def test_log_of_the_other_direction_is_refused(direction, rises, words):
    refused = refusals_of(entry, scale_log(rises=rises), direction=direction)

    assert words in refused["log"]


def test_service_refuses_the_other_direction_too():
    log = entry(scale_log(rises=True), direction="")

    refused = refusals_of(file_event, transfers=(charged(supply_cylinder(), log=log),))

    assert "the weight falls" in refused["transfers-0-log"]


def test_recovery_makes_the_cylinder_heavier():
    log = entry(scale_log(rises=True), direction="out")

    event = file_event(transfers=(recovered(CylinderFactory(), log=log),)).event

    assert log_of(event).reading.figures["direction"] == "in"


def test_one_log_proves_one_transfer():
    event = file_with_log()
    cylinder = supply_cylinder("40 lb")

    again = refusals_of(file_with_log)
    twice = refusals_of(
        file_event,
        transfers=tuple(charged(cylinder, log=entry(scale_log(7_001))) for _ in range(2)),
    )

    assert str(event) in again["transfers-0-log"]
    assert "another row" in twice["transfers-1-log"]


# --- The same visit sent again ---


def test_same_form_with_its_log_is_filed_once():
    visit = submission(transfers=(charged(supply_cylinder(), log=entry()),))
    by = UserFactory()

    first = service_event_file(by=by, submission=visit, filed_at=FILED_AT)
    again = service_event_file(by=by, submission=visit, filed_at=LATER)

    assert (again.event, again.was_already_filed) == (first.event, True)
    assert WeighLog.objects.count() == 1


def test_form_typed_again_without_the_log_is_the_same_visit():
    appliance, cylinder = ApplianceFactory(), supply_cylinder()
    visit = submission(appliance, transfers=(charged(cylinder, log=entry()),))
    first = service_event_file(by=UserFactory(), submission=visit, filed_at=FILED_AT)

    again = file_event(appliance, technician=visit.technician, transfers=(charged(cylinder),), filed_at=LATER)

    assert (again.event, again.was_already_filed) == (first.event, True)


def test_form_typed_again_with_a_log_is_led_to_its_record():
    appliance, cylinder = ApplianceFactory(), supply_cylinder()
    first = file_event(appliance, transfers=(charged(cylinder),))

    refused = refusals_of(
        file_event, appliance, technician=first.event.technician, transfers=(charged(cylinder, log=entry()),)
    )

    assert f"on record as {first.event}, without this log" in refused["transfers-0-log"]


def test_form_sent_again_with_another_log_is_refused():
    visit = submission(transfers=(charged(supply_cylinder(), log=entry()),))
    service_event_file(by=UserFactory(), submission=visit, filed_at=FILED_AT)
    other = charged(visit.transfers[0].cylinder, log=entry(scale_log(7_001)))
    changed = submission(
        visit.appliance,
        technician=visit.technician,
        submission_id=visit.submission_id,
        transfers=(other,),
    )

    refused = refusals_of(service_event_file, by=UserFactory(), submission=changed, filed_at=LATER)

    assert "with other contents" in refused["submission_id"]


# --- Amended ---


def test_amendment_keeps_the_log_by_its_hash():
    cylinder = supply_cylinder()
    first = file_event(transfers=(charged(cylinder, log=entry()),)).event
    visit = submission(
        first.appliance,
        technician=first.technician,
        transfers=(charged(cylinder, "7.3 lb", log=entry()),),
        submission_id=uuid.uuid4(),
    )

    amendment = service_event_amend(
        by=UserFactory(), event=first, submission=visit, reason="Mistyped.", filed_at=LATER
    ).event

    assert WeighLogFile.objects.count() == 1
    assert {log.transfer.event for log in WeighLog.objects.all()} == {first, amendment}
    assert log_of(amendment).reading.is_beyond_tolerance is True
    assert log_of(first).reading.is_beyond_tolerance is False
    assert list(records_verify()) == []


# --- Added later ---


@pytest.fixture
def filed():
    """A visit without a log, filed by a technician."""
    return file_event(by=people.technician_user(), transfers=(charged(supply_cylinder()),)).event


def test_log_added_later_is_a_record_of_its_own(filed):
    before = filed.canonical()

    log = add(filed)

    filed.refresh_from_db()
    assert type(filed).objects.get(pk=filed.pk).canonical() == before
    links = ChainLink.objects.filter(record_kind="weigh_log", record_id=log.pk)
    cylinder = filed.transfers.get().from_holder.cylinder_id
    assert {link.chain for link in links} == {f"appliance:{filed.appliance_id}", f"cylinder:{cylinder}"}
    assert list(records_verify()) == []


@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE jobs_weighlog SET name = 'x'",
        "UPDATE jobs_weighlog SET unit = 'kg'",
        "UPDATE jobs_weighlog SET time_column = 3",
    ],
)
def test_log_added_later_and_changed_is_named(filed, statement):
    log = add(filed)

    run(statement)

    assert {(r.record_kind, r.record_id) for r in records_verify()} == {("weigh_log", log.pk)}


def test_log_taken_out_of_its_chain_is_named(filed):
    log = add(filed)

    run("DELETE FROM jobs_chainlink WHERE record_kind = 'weigh_log'")

    assert [(r.record_kind, r.record_id) for r in records_verify()] == [("weigh_log", log.pk)]


def test_officer_adds_one_too_and_nobody_else(filed):
    with pytest.raises(PermissionDenied):
        add(filed, by=people.office_admin())
    with pytest.raises(PermissionDenied):
        add(filed, by=people.stranger())

    assert add(filed, by=people.officer()).is_added_later


def test_technician_adds_none_to_what_another_filed():
    event = file_event(transfers=(charged(supply_cylinder()),)).event

    with pytest.raises(PermissionDenied):
        add(event, by=people.technician_user())


def test_second_log_is_refused(filed):
    add(filed)

    assert "has its log, scale.csv" in refusals_of(add, filed, content=scale_log(7_001))["log"]


def test_log_for_a_replaced_record_is_refused(filed):
    visit = submission(filed.appliance, technician=filed.technician)
    service_event_amend(by=UserFactory(), event=filed, submission=visit, reason="None moved.", filed_at=LATER)

    refused = refusals_of(
        weigh_log_add,
        by=filed.filed_by,
        transfer=filed.transfers.get(),
        entry=entry(),
        attached_at=LATER,
    )

    assert "Expected a record that stands" in refused["log"]


# --- Readings are derived ---


def test_rebuilding_changes_nothing(filed, capsys):
    add(filed)
    file_with_log("7.1 lb", log=entry(scale_log(7_010, unit="kg", header=False), unit="lb"))
    before = list(WeighLogReading.objects.order_by("pk").values())

    WeighLogReading.objects.all().delete()
    call_command("rebuild_weigh_logs")

    assert list(WeighLogReading.objects.order_by("pk").values()) == before
    assert "2 logs read" in capsys.readouterr().out


def test_what_cannot_be_read_any_more_keeps_its_reading(filed, capsys):
    add(filed)
    before = list(WeighLogReading.objects.values())
    run("UPDATE jobs_weighlog SET weight_column = 9")

    with pytest.raises(CommandError, match="1 of 1"):
        call_command("rebuild_weigh_logs")

    assert str(filed) in capsys.readouterr().out
    assert list(WeighLogReading.objects.values()) == before


@pytest.mark.django_db(transaction=True)
@pytest.mark.skipif(connection.vendor == "sqlite", reason="in memory, one connection at a time")
def test_two_logs_at_once_leave_one():
    event = file_event(by=people.technician_user(), transfers=(charged(supply_cylinder()),)).event
    barrier, outcomes = threading.Barrier(2), []

    def attach(net):
        try:
            barrier.wait()
            outcomes.append(add(event, content=scale_log(net)))
        except SubmissionRefused as error:
            outcomes.append(str(error))
        finally:
            connection.close()

    threads = [threading.Thread(target=attach, args=(net,)) for net in (7_000, 7_001)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()

    assert {type(outcome) for outcome in outcomes} == {WeighLog, str}
    assert WeighLog.objects.count() == 1
    assert list(records_verify()) == []


def test_command_reads_no_database_for_an_empty_firm():
    out = io.StringIO()

    call_command("rebuild_weigh_logs", stdout=out)

    assert out.getvalue() == "0 logs read.\n"
