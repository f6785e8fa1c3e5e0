"""The nightly task that seals the hash chains: once a night, whole or not at all, and it tells of what fell."""

from concurrent.futures import ThreadPoolExecutor

import pytest
from django.db import connections

from compliance.models import TaskRun
from compliance.tasks import seal_chains
from jobs.models import ChainSeal, SealedHead
from jobs.services.seal_verification import seals_verify
from jobs.services.seals import chains_seal_tonight
from portal.celery import app
from tests.brokers import wait_until
from tests.factories import file_event
from tests.jobs.test_chain import run
from tests.jobs.test_seals import DAY, NIGHT
from tests.nursery.kill_points import SEAL_STEP, WORKER, arm, held

SEAL = "compliance.tasks.seal_chains"

# Enough for workers to meet between each other's steps.
NIGHTS = 10


@pytest.mark.django_db
def test_the_task_seals_once_a_night_and_says_what(time_machine):
    time_machine.move_to(NIGHT, tick=False)
    file_event()
    for _ in range(2):
        seal_chains()

    task = TaskRun.objects.get(name=SEAL)
    assert ChainSeal.objects.count() == 1
    assert (task.has_failed, task.outcome) == (False, "Seal 1 of 2026-03-03 10:35 UTC: 1 records of 1 chains")


@pytest.mark.django_db
def test_the_task_fails_aloud_over_a_chain_that_was_cut_off_and_seals_the_others(time_machine):
    time_machine.move_to(NIGHT, tick=False)
    lost = file_event().event.appliance
    seal_chains()
    run("DELETE FROM jobs_chainlink WHERE chain = %s", f"appliance:{lost.pk}")
    file_event()
    time_machine.move_to(NIGHT + DAY, tick=False)

    seal_chains()

    task = TaskRun.objects.get(name=SEAL)
    assert task.has_failed
    assert task.outcome.startswith(f"appliance:{lost.pk} no. 1, held by seal 1")
    assert ChainSeal.objects.get(number=2).heads.count() == 1


@pytest.mark.django_db
def test_the_status_page_tells_when_it_ran_and_runs(client, officer, time_machine):
    time_machine.move_to(NIGHT, tick=False)
    seal_chains()
    client.force_login(officer)

    text = client.get("/status/").text

    assert "Seal the hash chains" in text
    assert "Seal 1 of 2026-03-03 10:35 UTC: 0 records of 0 chains" in text
    # The next run is tomorrow at 4:35 at the firm.
    schedule = app.conf.beat_schedule["seal the hash chains"]["schedule"]
    assert (schedule.hour, schedule.minute) == ({4}, {35})
    assert "2026-03-04 04:35" in text


@pytest.mark.django_db(transaction=True)
def test_workers_at_one_moment_make_one_seal():
    for _ in range(3):
        file_event()

    def seal(night):
        try:
            return chains_seal_tonight(now=night)
        finally:
            connections.close_all()

    for number in range(NIGHTS):
        with ThreadPoolExecutor(4) as pool:
            seals = list(pool.map(seal, [NIGHT + number * DAY] * 4))
        assert len({found.pk for found in seals}) == 1
        assert ChainSeal.objects.count() == number + 1
    assert SealedHead.objects.count() == 3
    assert list(seals_verify()) == []


def test_a_worker_killed_amid_a_seal_leaves_none_and_the_next_run_makes_it(folder_broker):
    for _ in range(3):
        file_event()
    nursery = folder_broker.start_nursery()
    arm(folder_broker.folder, SEAL_STEP, WORKER)
    worker = nursery.start_worker()
    folder_broker.send(SEAL)
    wait_until(lambda: held(folder_broker.folder, SEAL_STEP) is not None, what=SEAL_STEP)
    wait_until(lambda: not worker.is_alive, what="the worker's end")
    assert (ChainSeal.objects.count(), SealedHead.objects.count()) == (0, 0)

    nursery.start_worker()
    folder_broker.send(SEAL)
    wait_until(ChainSeal.objects.exists, what="the seal")

    assert (ChainSeal.objects.get().number, SealedHead.objects.count()) == (1, 3)
    assert list(seals_verify()) == []
