"""A sweep whose workers are killed goes on where it stopped."""

import datetime

from django.db.models import F

from compliance.models import ApplianceAssessment, AssessmentSweep, SweepChunk
from compliance.services import sweeps
from compliance.services.sweeps import CLAIM_LASTS, sweep_begin
from tests import people
from tests.brokers import wait_until
from tests.compliance.firm import add_appliance
from tests.nursery.kill_points import SWEEP_STEPS, WORKER, arm, held

GO_ON = "compliance.tasks.go_on_with_sweep"
CHUNKS = len(SWEEP_STEPS) + 2


def test_a_sweep_goes_on_where_its_workers_were_killed(broker, monkeypatch):
    monkeypatch.setattr(sweeps, "CHUNK", 1)
    admin = people.office_admin()
    for number in range(CHUNKS):
        add_appliance(admin, f"Chiller {number}")
    sweep = sweep_begin(now=datetime.datetime.now(datetime.UTC))
    nursery = broker.start_nursery()

    for step in SWEEP_STEPS:
        arm(broker.folder, step, WORKER)
        worker = nursery.start_worker()
        broker.send(GO_ON)
        wait_until(lambda step=step: held(broker.folder, step) is not None, what=step)
        wait_until(lambda worker=worker: not worker.is_alive, what="the worker's end")
        # As if the time had passed after which a claim counts as abandoned.
        running = SweepChunk.objects.filter(state="running")
        running.update(claimed_at=F("claimed_at") - 2 * CLAIM_LASTS)
    done_before = dict(ApplianceAssessment.objects.values_list("appliance", "assessed_at"))
    nursery.start_worker()
    broker.send(GO_ON)
    ended = AssessmentSweep.objects.filter(pk=sweep.pk, finished_at__isnull=False)
    wait_until(
        ended.exists, what=lambda: f"the sweep: {list(SweepChunk.objects.values('state', 'attempts'))}"
    )

    now_there = dict(ApplianceAssessment.objects.values_list("appliance", "assessed_at"))
    assert len(now_there) == CHUNKS
    # What was committed before the last kill isn't done again.
    assert done_before
    assert done_before.items() <= now_there.items()
    assert sum(SweepChunk.objects.values_list("attempts", flat=True)) == CHUNKS + len(SWEEP_STEPS)
