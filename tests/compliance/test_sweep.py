"""What time alone changes is found by the sweep, by the date at each site, and once."""

import datetime
import zoneinfo

import pytest
from django.db import IntegrityError, transaction

from compliance.models import AssessmentSweep, Reminder, SweepChunk, TaskRun, WorkState
from compliance.selectors import staleness
from compliance.selectors.staleness import stale_appliances
from compliance.services import sweeps
from compliance.services.sweeps import (
    CLAIM_LASTS,
    sweep_begin,
    sweep_chunk_assess,
    sweep_chunk_claim,
    sweep_finish,
)
from compliance.services.work_orders import ATTEMPTS_MAX
from compliance.tasks import go_on_with_sweep, sweep_assessments
from jobs.models import Appliance, ServiceEvent
from jobs.services.appliances import appliance_change
from jobs.services.customers import site_change
from tests.compliance.firm import add_appliance, add_customer, add_site, day, noon, over_the_threshold

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("tasks_at_once")]

HOUR = datetime.timedelta(hours=1)
SWEEP_AT = noon(day("2026-04-02"))


def _at(zone, *moment):
    return datetime.datetime(*moment, tzinfo=zoneinfo.ZoneInfo(zone))


def _status(appliance):
    return appliance.obligations.get(kind="repair").status


def test_a_clock_runs_out_at_midnight_of_the_site(admin, chiller, time_machine):
    over_the_threshold(admin, chiller, "2026-03-02")

    time_machine.move_to(_at("America/Chicago", 2026, 4, 1, 23, 59))
    sweep_assessments()
    assert _status(chiller) == "open"
    time_machine.move_to(_at("America/Chicago", 2026, 4, 2, 0, 1))
    sweep_assessments()
    assert _status(chiller) == "overdue"


def test_sites_in_other_zones_have_another_date(admin, time_machine):
    customer = add_customer(admin)
    honolulu = add_site(admin, customer, "Harbour", time_zone="Pacific/Honolulu")
    auckland = add_site(admin, customer, "Quay", time_zone="Pacific/Auckland")
    west, east = add_appliance(admin, site=honolulu), add_appliance(admin, site=auckland)
    for appliance in (west, east):
        over_the_threshold(admin, appliance, "2026-03-02")

    time_machine.move_to(_at("UTC", 2026, 4, 1, 12, 0))
    sweep_assessments()

    # 01:00 on 2 April in Auckland (daylight time, UTC+13), 02:00 on 1 April in Honolulu.
    assert (_status(west), _status(east)) == ("open", "overdue")


@pytest.mark.parametrize(
    ("zone", "night", "due_on"),
    [
        # Clocks go forward in the night to 8 March 2026 and back in the night to 1 November 2026.
        ("America/Chicago", (2026, 3, 8), "2026-03-07"),
        ("America/Chicago", (2026, 11, 1), "2026-10-31"),
    ],
)
def test_the_nights_when_clocks_change_are_nights_like_others(
    admin, chiller, time_machine, zone, night, due_on
):
    started_on = day(due_on) - datetime.timedelta(days=30)
    over_the_threshold(admin, chiller, started_on.isoformat())
    midnight = _at(zone, *night)

    time_machine.move_to(midnight - datetime.timedelta(minutes=1))
    sweep_assessments()
    assert _status(chiller) == "open"
    time_machine.move_to(midnight + datetime.timedelta(minutes=1))
    sweep_assessments()
    assert _status(chiller) == "overdue"


def test_an_answer_that_still_holds_is_left_alone(admin, chiller):
    over_the_threshold(admin, chiller, "2026-03-02")

    # 30 days for the repair: on 1 April it is still open, on 2 April overdue (40 CFR 84.106(d)).
    assert list(stale_appliances(noon(day("2026-04-01")))) == []
    assert list(stale_appliances(noon(day("2026-04-02")))) == [chiller]


def test_an_appliance_without_records_is_assessed_too(chiller):
    assert list(stale_appliances(noon(day("2026-03-02")))) == [chiller]


def test_a_change_of_the_registers_asks_for_a_new_assessment(admin, chiller, time_machine):
    def is_stale():
        return stale_appliances(datetime.datetime.now(datetime.UTC)).exists()

    time_machine.move_to(SWEEP_AT)
    sweep_assessments()
    assert not is_stale()
    time_machine.shift(HOUR)
    appliance_change(by=admin, appliance=chiller, category="commercial_refrigeration")
    assert is_stale()
    time_machine.shift(HOUR)
    sweep_assessments()
    assert not is_stale()
    site_change(by=admin, site=chiller.site, leak_rate_method="rolling_average")
    assert is_stale()


def test_a_change_that_shows_only_after_an_assessment_asks_for_another(admin, chiller, time_machine):
    """As when its transaction ended after the assessment had read the register."""
    time_machine.move_to(SWEEP_AT)
    appliance_change(by=admin, appliance=chiller, category="commercial_refrigeration")
    time_machine.shift(datetime.timedelta(seconds=20))
    sweep_assessments()

    time_machine.shift(HOUR)
    assert list(stale_appliances(SWEEP_AT + HOUR)) == [chiller]
    sweep_assessments()
    assert list(stale_appliances(SWEEP_AT + HOUR)) == []


def test_a_record_that_was_filed_without_an_assessment_asks_for_one(admin, chiller, monkeypatch):
    over_the_threshold(admin, chiller, "2026-03-02")
    chiller.assessment.assessed_at -= HOUR
    chiller.assessment.save()

    assert list(stale_appliances(noon(day("2026-03-02")))) == [chiller]


@pytest.mark.parametrize("version", ["RULEBOOK_VERSION", "load_tables"])
def test_a_change_of_the_law_asks_for_new_assessments(admin, chiller, monkeypatch, version):
    over_the_threshold(admin, chiller, "2026-03-02")
    tables = type("Tables", (), {"version": "newer"})
    monkeypatch.setattr(staleness, version, "newer" if version == "RULEBOOK_VERSION" else lambda: tables)

    assert list(stale_appliances(noon(day("2026-03-02")))) == [chiller]


@pytest.fixture
def three(admin, monkeypatch):
    """Three appliances over the threshold since 2 March, and chunks of one appliance each."""
    monkeypatch.setattr(sweeps, "CHUNK", 1)
    appliances = [add_appliance(admin, f"Chiller {number}") for number in range(3)]
    for appliance in appliances:
        over_the_threshold(admin, appliance, "2026-03-02")
    return appliances


def test_a_sweep_is_divided_into_chunks_that_are_taken_once_each(three):
    sweep = sweep_begin(now=SWEEP_AT)
    chunks = [sweep_chunk_claim(now=SWEEP_AT) for _ in range(4)]

    assert [chunk and chunk.first_appliance_id for chunk in chunks] == [*(row.pk for row in three), None]
    assert (sweep.stale_count, sweep.chunks.count()) == (3, 3)


def test_a_sweep_that_was_cut_short_goes_on_where_it_stopped(three):
    sweep_begin(now=SWEEP_AT)
    sweep_chunk_assess(chunk=sweep_chunk_claim(now=SWEEP_AT), now=SWEEP_AT)
    lost = sweep_chunk_claim(now=SWEEP_AT)
    assert sweep_begin(now=SWEEP_AT + HOUR).stale_count == 3

    go_on_with_sweep()

    assert [_status(appliance) for appliance in three] == ["overdue"] * 3
    lost.refresh_from_db()
    assert (lost.state, lost.attempts) == (WorkState.DONE, 2)
    assert AssessmentSweep.objects.get().finished_at


def test_a_claim_is_another_workers_until_it_is_old(three):
    sweep_begin(now=SWEEP_AT)
    claimed = [sweep_chunk_claim(now=SWEEP_AT) for _ in three]

    assert sweep_chunk_claim(now=SWEEP_AT + CLAIM_LASTS) is None
    again = sweep_chunk_claim(now=SWEEP_AT + CLAIM_LASTS + datetime.timedelta(seconds=1))
    assert again.pk == claimed[0].pk


def test_a_chunk_that_ends_each_worker_is_given_up(three):
    sweep_begin(now=SWEEP_AT)
    SweepChunk.objects.update(attempts=ATTEMPTS_MAX)

    chunk = sweep_chunk_assess(chunk=sweep_chunk_claim(now=SWEEP_AT), now=SWEEP_AT)

    assert (chunk.state, chunk.failure.partition(":")[0]) == (WorkState.FAILED, "Given up")


def test_one_sweep_is_under_way_at_a_time(three):
    sweep_begin(now=SWEEP_AT)

    with pytest.raises(IntegrityError), transaction.atomic():
        AssessmentSweep.objects.create(started_at=SWEEP_AT, stale_count=0)
    assert sweep_finish(now=SWEEP_AT) is None
    SweepChunk.objects.update(state=WorkState.DONE)
    assert sweep_finish(now=SWEEP_AT) == AssessmentSweep.objects.get()
    assert sweep_finish(now=SWEEP_AT) is None


def test_one_appliance_that_cant_be_assessed_keeps_no_other_from_its_clock(admin, time_machine):
    broken, sound = add_appliance(admin, "Chiller 1"), add_appliance(admin, "Chiller 2")
    over_the_threshold(admin, sound, "2026-03-02")
    Appliance.objects.filter(pk=broken.pk).update(refrigerant="R-000")
    time_machine.move_to(SWEEP_AT)

    sweep_assessments()

    chunk = SweepChunk.objects.get()
    assert _status(sound) == "overdue"
    assert (chunk.state, chunk.done_count, chunk.total_count) == (WorkState.FAILED, 1, 2)
    assert f"Chiller 1 (number {broken.pk})" in chunk.failure
    assert list(stale_appliances(SWEEP_AT)) == [broken]


def test_a_sweep_raises_what_it_finds_to_be_reminded_of(admin, officer, chiller, time_machine):
    over_the_threshold(admin, chiller, "2026-03-02")
    time_machine.move_to(noon(day("2026-04-02")))

    sweep_assessments()

    assert set(Reminder.objects.values_list("milestone", flat=True)) == {"1 day overdue"}


def test_the_run_is_noted(admin, chiller, time_machine):
    time_machine.move_to(noon(day("2026-04-02")), tick=False)

    sweep_assessments()

    run = TaskRun.objects.get(name="compliance.tasks.sweep_assessments")
    assert run.started_at == run.finished_at == noon(day("2026-04-02"))
    assert (run.outcome, run.has_failed) == ("1 appliances to assess", False)


def test_records_are_never_touched(admin, chiller, time_machine):
    over_the_threshold(admin, chiller, "2026-03-02")
    before = list(ServiceEvent.objects.values())
    time_machine.move_to(noon(day("2026-04-02")))

    sweep_assessments()

    assert list(ServiceEvent.objects.values()) == before
