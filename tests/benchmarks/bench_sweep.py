"""How long a sweep over 100,000 appliances takes with two workers: days later, all open clocks, everything anew.

Needs PostgreSQL. The goal is for the sweep of any day; assessing the whole fleet for the first time, or after a change
of the law, takes longer and is done in parts, so that nothing else waits for it: what it takes stands beside it.
"""

import datetime
import multiprocessing
import os
import sys
import time

import pytest
from django.db import connection, connections

from compliance.models import ApplianceAssessment, AssessmentSweep, LeakRate, Obligation, SweepChunk
from compliance.selectors.staleness import stale_appliances
from compliance.services.sweeps import sweep_begin, sweep_chunk_assess, sweep_chunk_claim, sweep_finish
from tests.benchmarks.fleet import make_fleet

APPLIANCES = int(os.environ.get("BENCHMARK_APPLIANCES", "100000"))
OVER = APPLIANCES // 20
WORKERS = 2
DAY = datetime.timedelta(days=1)

#: The goal for the sweep of an ordinary day.
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


def _work(now: datetime.datetime) -> None:
    """What a worker does, at an instant of our choice."""
    while chunk := sweep_chunk_claim(now=now):
        sweep_chunk_assess(chunk=chunk, now=now)


def _sweep(now: datetime.datetime, what: str) -> float:
    connections.close_all()
    fork = multiprocessing.get_context("fork")
    began, before = time.perf_counter(), os.times()
    sweep = sweep_begin(now=now)
    found_s = time.perf_counter() - began
    connections.close_all()
    workers = [fork.Process(target=_work, args=(now,)) for _ in range(WORKERS)]
    for worker in workers:
        worker.start()
    for worker in workers:
        worker.join()
    assert sweep_finish(now=now) == sweep
    taken_s = time.perf_counter() - began
    done = sum(SweepChunk.objects.filter(sweep=sweep).values_list("done_count", flat=True))
    assert done == sweep.stale_count
    after = os.times()
    busy_s = after.children_user + after.children_system - before.children_user - before.children_system
    _say(
        f"{what}: {done:,} appliances in {taken_s:.1f} s, {found_s:.1f} s of which to find them; "
        f"the workers' processors were busy for {busy_s:.1f} s"
    )
    return taken_s


def test_a_sweep_over_a_large_firm(fleet):
    now = datetime.datetime.now(datetime.UTC)

    _sweep(now, "nothing stored yet")
    _say(f"{LeakRate.objects.count():,} leak rates, {Obligation.objects.count():,} obligations, ")
    owed = Obligation.objects.filter(status__in=("open", "overdue")).exclude(kind="record_retention")
    _say(
        f"{owed.filter(status='open').count():,} of them open and {owed.filter(status='overdue').count():,} overdue"
    )
    nothing_s = _sweep(now, "the same hour again")
    days = [_sweep(now + number * DAY, f"{number} days later") for number in (1, 2, 3)]
    new_year = now.replace(year=now.year + 1, month=1, day=1)
    days.append(_sweep(new_year, "New Year's Day, after none between"))
    with_clocks = ApplianceAssessment.objects.filter(appliance__in=owed.values("appliance"))
    with_clocks.update(holds_until=now - DAY)
    days.append(_sweep(new_year, "as if every open clock could have run out on one day"))
    ApplianceAssessment.objects.update(tables_version="former")
    _sweep(new_year, "after a change of the law that alters no answer")

    assert not stale_appliances(new_year).exists()
    assert AssessmentSweep.objects.filter(finished_at=None).count() == 0
    assert max(nothing_s, *days) <= MOST_S
