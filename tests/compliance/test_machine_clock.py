"""The machine's clock is off for a while: nothing is sent twice, nothing is lost after it, no alarm is silent."""

import datetime
import email
import email.policy
from collections import Counter

import pytest

from compliance.models import (
    ApplianceAssessment,
    AssessmentSweep,
    CalendarFeed,
    Obligation,
    Reminder,
    SweepChunk,
    TaskRun,
)
from compliance.selectors.system_status import system_status
from compliance.selectors.task_runs import sweep_watch
from compliance.services.outbox import BACK_OFF_MAX, CLAIM_LASTS
from compliance.services.reminders import reminder_claim, reminder_deliver, reminders_raise
from compliance.services.sweeps import LANES, sweep_begin, sweep_chunk_claim, sweep_lanes_free
from compliance.tasks import sweep_assessments
from jobs.services.appliances import appliance_change
from jobs.services.customers import site_change
from tests.compliance.calendar_feeds.reading import event
from tests.compliance.firm import add_appliance, day, file, noon, over_the_threshold

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("tasks_at_once")]

NOW = noon(day("2026-03-18"))
MINUTE, HOUR = datetime.timedelta(minutes=1), datetime.timedelta(hours=1)
DAY, YEAR = datetime.timedelta(days=1), datetime.timedelta(days=365)
# Set back, and set forward.
OFF = [-HOUR, -YEAR, HOUR, YEAR]


@pytest.fixture
def case(admin, officer, chiller):
    """Repair and initial test due on 1 April 2026; the officer alone is reminded."""
    over_the_threshold(admin, chiller, "2026-03-02")
    return chiller


def _sent(mailbox):
    """How often each message arrived."""
    paths = mailbox.glob("*.eml") if mailbox.exists() else []
    messages = [email.message_from_bytes(path.read_bytes(), policy=email.policy.default) for path in paths]
    return Counter(message["Message-ID"] for message in messages)


def _remind(now):
    reminders_raise(now=now)
    while reminder := reminder_claim(now=now):
        assert reminder_deliver(reminder=reminder, sent_at=now)


def _milestones():
    rows = Reminder.objects.filter(
        channel="email", is_escalation=False, state="sent", owed_key__contains=":repair:"
    )
    return set(rows.values_list("milestone", flat=True))


# --- Reminders -------------------------------------------------------------------------------


@pytest.mark.parametrize("off", OFF)
def test_a_clock_that_is_off_for_a_day_sends_nothing_twice_and_loses_nothing(case, mailbox, off):
    days = [noon(day("2026-03-17")) + number * DAY for number in range(17)]
    for number, now in enumerate(days):
        # On 20 and 21 March; it is right before and after.
        _remind(now + off if number in (3, 4) else now)

    wanted = {
        "14 days before",
        "7 days before",
        "3 days before",
        "1 day before",
        "on the day",
        "1 day overdue",
    }
    assert wanted <= _milestones()
    # By a clock a year ahead it told one thing more; 350 days are of the weekly reminders after two weeks.
    assert _milestones() - wanted == ({"350 days overdue"} if off == YEAR else set())
    assert set(_sent(mailbox).values()) == {1}


def test_what_a_worker_held_by_a_clock_ahead_is_sent_once_it_is_right(case, mailbox):
    reminders_raise(now=NOW)
    held = reminder_claim(now=NOW + YEAR)

    # The claim grows old from when it is first seen by the right clock.
    def claimed(now):
        return [row.pk for row in iter(lambda: reminder_claim(now=now), None)]

    assert held.pk not in claimed(NOW)
    assert held.pk not in claimed(NOW + CLAIM_LASTS - MINUTE)
    assert held.pk in claimed(NOW + CLAIM_LASTS)


def test_a_worker_that_is_sending_when_the_clock_is_set_back_is_the_only_one_to_send(case, mailbox):
    reminders_raise(now=NOW)
    held = reminder_claim(now=NOW + YEAR)
    others = list(iter(lambda: reminder_claim(now=NOW), None))

    assert held.pk not in [row.pk for row in others]
    assert reminder_deliver(reminder=held, sent_at=NOW)

    held.refresh_from_db()
    assert (held.state, held.undecided_count) == ("sent", 0)
    assert reminder_claim(now=NOW + CLAIM_LASTS - MINUTE) is None
    assert sum(_sent(mailbox).values()) == 1


def test_what_was_put_off_by_a_clock_ahead_waits_for_no_year(case):
    reminders_raise(now=NOW)
    waiting = Reminder.objects.filter(channel="email")
    waiting.update(next_attempt_at=NOW + BACK_OFF_MAX)
    assert reminder_claim(now=NOW) is None

    waiting.update(next_attempt_at=NOW + YEAR)
    assert reminder_claim(now=NOW)


# --- Assessments and their sweeps ------------------------------------------------------------


def _status(appliance):
    return Obligation.objects.get(appliance=appliance, kind="repair").status


def test_what_a_clock_ahead_called_overdue_is_open_again_once_it_is_right(case, time_machine):
    for now, status in ((NOW, "open"), (NOW + YEAR, "overdue"), (NOW, "open"), (NOW + 14 * DAY, "open")):
        time_machine.move_to(now, tick=False)
        sweep_assessments()
        assert _status(case) == status


def test_what_was_changed_in_an_hour_that_came_twice_is_seen(case, admin, time_machine):
    time_machine.move_to(NOW + HOUR, tick=False)
    site_change(by=admin, site=case.site, jurisdiction="us-california")
    sweep_assessments()
    time_machine.move_to(NOW, tick=False)
    site_change(by=admin, site=case.site, jurisdiction="us-federal")
    time_machine.move_to(NOW + 2 * MINUTE, tick=False)

    sweep_assessments()

    assert ApplianceAssessment.objects.get(appliance=case).assessed_at == NOW + 2 * MINUTE


def test_a_record_filed_by_a_clock_ahead_counts_once_it_is_right(admin, officer, chiller, time_machine):
    file(admin, chiller, "2026-03-02", filed_at=NOW + YEAR, added=[("12", "A")], found=["A"])
    time_machine.move_to(NOW, tick=False)

    sweep_assessments()

    assert _status(chiller) == "open"


def test_chunks_claimed_by_a_clock_ahead_are_taken_over(case, monkeypatch):
    monkeypatch.setattr("compliance.services.sweeps.CHUNK", 1)
    ApplianceAssessment.objects.all().delete()
    sweep_begin(now=NOW + YEAR)
    chunk = sweep_chunk_claim(now=NOW + YEAR)
    assert sweep_chunk_claim(now=NOW + YEAR) is None

    assert sweep_lanes_free(now=NOW) == 1
    assert sweep_chunk_claim(now=NOW).pk == chunk.pk
    assert sweep_chunk_claim(now=NOW) is None


def test_claims_of_a_clock_ahead_take_nobodys_lane():
    sweep = AssessmentSweep.objects.create(started_at=NOW + YEAR, stale_count=LANES)
    ids = {"first_appliance_id": 1, "last_appliance_id": 1, "total_count": 1}
    for _ in range(LANES):
        SweepChunk.objects.create(sweep=sweep, state="running", claimed_at=NOW + YEAR, **ids)

    assert sweep_lanes_free(now=NOW) == LANES


# --- Alarms ----------------------------------------------------------------------------------


@pytest.mark.parametrize(("ahead", "is_late"), [(MINUTE, False), (HOUR, True), (YEAR, True)])
def test_a_last_run_in_the_future_silences_no_alarm(client, officer, time_machine, ahead, is_late):
    TaskRun.objects.create(
        name="compliance.tasks.sweep_assessments", started_at=NOW + ahead, finished_at=NOW + ahead
    )
    time_machine.move_to(NOW, tick=False)

    assert sweep_watch(NOW).is_late is is_late
    tasks = {task.name: task.is_late for task in system_status(NOW).tasks}
    assert tasks["compliance.tasks.sweep_assessments"] is is_late
    client.force_login(officer)
    assert ("The hourly assessment is late." in client.get("/board/").text) is is_late


def test_a_sweep_that_began_in_the_future_and_doesnt_end_is_stuck():
    TaskRun.objects.create(name="compliance.tasks.sweep_assessments", started_at=NOW, finished_at=NOW)
    assert not sweep_watch(NOW).is_late

    AssessmentSweep.objects.create(started_at=NOW + YEAR, stale_count=1)

    assert sweep_watch(NOW).is_stuck


def test_the_next_run_by_the_right_clock_ends_the_alarm(case, time_machine):
    for now in (NOW + YEAR, NOW):
        time_machine.move_to(now, tick=False)
        sweep_assessments()

    assert not sweep_watch(NOW).is_late


# --- Calendar feeds --------------------------------------------------------------------------


def test_a_feed_told_by_a_clock_ahead_tells_newer_things_after_it(case, admin, officer, time_machine):
    time_machine.move_to(NOW + HOUR, tick=False)
    before = event(officer)
    time_machine.move_to(NOW, tick=False)
    appliance_change(by=admin, appliance=case, name="Chiller one")

    after = event(officer)

    assert "Chiller one" in after.summary.value
    assert after.last_modified.value > before.last_modified.value
    assert after.uid.value == before.uid.value


def test_a_reading_noted_by_a_clock_ahead_is_followed_by_the_right_one(officer, time_machine):
    for now in (NOW + YEAR, NOW):
        time_machine.move_to(now, tick=False)
        with pytest.raises(ValueError, match="not enough values to unpack"):
            event(officer)

    assert CalendarFeed.objects.get().last_read_at == NOW


def test_other_appliances_are_owed_as_ever(case, admin, mailbox):
    """A year of reminders raised ahead keeps nothing of a new case from its recipients."""
    _remind(NOW + YEAR)
    other = add_appliance(admin, "Chiller 2")
    over_the_threshold(admin, other, "2026-03-05")

    _remind(noon(day("2026-03-21")))

    rows = Reminder.objects.filter(
        appliance=other, channel="email", owed_key__contains=":repair:", state="sent"
    )
    assert [row.milestone for row in rows] == ["14 days before"]
