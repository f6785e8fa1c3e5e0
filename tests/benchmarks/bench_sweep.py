"""A sweep over 100,000 appliances with 10,000 open obligations: under 60 s with two workers, which share it.

Needs PostgreSQL, and a machine of two cores that does nothing else; the database takes its part of them too. Small
numbers for trying it: ``BENCHMARK_APPLIANCES``; the open obligations are a tenth of them, the time allowed the same.

The bound holds for the sweeps that the calendar makes: the same hour again, each of three nights, New Year's Day, of
which most calendar years' duties begin, and a day on which every clock could run out at once. Two others are printed
without a bound, since no night brings them. Nothing is stored yet once in a portal's life, when it is filled; the law's
tables change when a new version is deployed. Each has the whole fleet assessed, 100,000 answers and not the few
thousand that a day can change; it goes on in chunks between which all other tasks get their turn, over the hours.
"""

import datetime
import multiprocessing
import os
import sys
import time
from typing import Any

import pytest
from django.db import connection, connections
from django.db.models import QuerySet

from compliance.models import ApplianceAssessment, AssessmentSweep, LeakRate, Obligation, SweepChunk
from compliance.selectors.staleness import stale_appliances
from compliance.services.sweeps import sweep_begin, sweep_chunk_assess, sweep_chunk_claim, sweep_finish
from jobs.models import Appliance
from tests.benchmarks.fleet import make_fleet

APPLIANCES = int(os.environ.get("BENCHMARK_APPLIANCES", "100000"))
OVER = APPLIANCES // 20
OPEN_LEAST = APPLIANCES // 10
WORKERS = 2
# With fewer chunks, one worker may be through before the other has begun.
SHARED_FROM = 20
DAY = datetime.timedelta(days=1)

#: The goal for a sweep that the calendar makes.
MOST_S = 60


@pytest.fixture
def fleet(transactional_db):
    if connection.vendor != "postgresql":
        pytest.skip("makes its rows inside PostgreSQL")
    began = time.perf_counter()
    make_fleet(APPLIANCES, OVER)
    _say(f"\n{APPLIANCES:,} appliances made in {time.perf_counter() - began:.0f} s")


def _say(text: str) -> None:
    sys.stdout.write(f"{text}\n")
    sys.stdout.flush()


def _work(now: datetime.datetime, done: Any) -> None:
    """What a worker does, at an instant of our choice; it tells how many chunks it had."""
    count = 0
    while chunk := sweep_chunk_claim(now=now):
        sweep_chunk_assess(chunk=chunk, now=now)
        count += 1
    done.put(count)


def _sweep(now: datetime.datetime, what: str) -> float:
    connections.close_all()
    fork = multiprocessing.get_context("fork")
    began, before = time.perf_counter(), os.times()
    sweep = sweep_begin(now=now)
    found_s = time.perf_counter() - began
    connections.close_all()
    shares = fork.SimpleQueue()
    workers = [fork.Process(target=_work, args=(now, shares)) for _ in range(WORKERS)]
    for worker in workers:
        worker.start()
    for worker in workers:
        worker.join()
    assert [worker.exitcode for worker in workers] == [0] * WORKERS
    assert sweep_finish(now=now) == sweep
    taken_s = time.perf_counter() - began
    done = sum(SweepChunk.objects.filter(sweep=sweep).values_list("done_count", flat=True))
    assert done == sweep.stale_count
    chunks = sorted(shares.get() for _ in workers)
    assert sum(chunks) == sweep.chunks.count()
    if sum(chunks) >= SHARED_FROM:
        assert chunks[0] >= sum(chunks) // WORKERS // 2, "the workers didn't share it"
    after = os.times()
    busy_s = after.children_user + after.children_system - before.children_user - before.children_system
    _say(
        f"{what}: {done:,} appliances in {taken_s:.1f} s, {found_s:.1f} s of which to find them; "
        f"the workers had {' and '.join(map(str, chunks))} chunks, their processors were busy for {busy_s:.1f} s"
    )
    return taken_s


def _count_owed(when: str) -> int:
    """Say what is owed, and return how much of it is open."""
    count = _owed().filter(status="open").count()
    overdue = _owed().filter(status="overdue").count()
    _say(
        f"{when}: {LeakRate.objects.count():,} leak rates, {count:,} open obligations, {overdue:,} overdue ones"
    )
    return count


def _owed() -> QuerySet[Obligation]:
    """Obligations with a clock; that records are kept is none."""
    pending = Obligation.objects.filter(status__in=("open", "overdue"))
    return pending.exclude(kind="record_retention")


def test_a_sweep_over_a_large_firm(fleet):
    now = datetime.datetime.now(datetime.UTC)
    assert Appliance.objects.count() == APPLIANCES

    _sweep(now, "nothing stored yet")
    assert _count_owed("to begin with") >= OPEN_LEAST
    bounded_s = {"the same hour again": _sweep(now, "the same hour again")}
    for number in (1, 2, 3):
        night = f"{number} days later"
        bounded_s[night] = _sweep(now + number * DAY, night)
    assert _count_owed("after three nights") >= OPEN_LEAST
    new_year = now.replace(year=now.year + 1, month=1, day=1)
    bounded_s["New Year"] = _sweep(new_year, "New Year's Day, after none between")
    assert _count_owed("on New Year's Day") >= OPEN_LEAST
    with_clocks = ApplianceAssessment.objects.filter(appliance__in=_owed().values("appliance"))
    with_clocks.update(holds_until=now - DAY)
    all_clocks = "as if every open clock could have run out on one day"
    bounded_s[all_clocks] = _sweep(new_year, all_clocks)
    ApplianceAssessment.objects.update(tables_version="former")
    _sweep(new_year, "after a change of the law that alters no answer")

    assert not stale_appliances(new_year).exists()
    assert AssessmentSweep.objects.filter(finished_at=None).count() == 0
    assert {what: taken_s for what, taken_s in bounded_s.items() if taken_s > MOST_S} == {}
