"""Sweeps: what time, a register or the law has changed is assessed anew, divided over all workers.

A sweep writes down its chunks before any is begun. A worker claims one by a conditional update; a claim that grew old
belongs to a worker that was killed, and another takes it. What is left of a chunk is found by looking again, since
what is assessed is no longer stale: so a sweep that was interrupted goes on where it stopped.
"""

from datetime import datetime, timedelta

from django.db import IntegrityError, transaction
from django.db.models import F

from compliance.models import AssessmentSweep, SweepChunk, WorkState
from compliance.selectors.staleness import stale_appliances
from compliance.services.assessments import appliances_reassess
from compliance.services.work_orders import ATTEMPTS_MAX, CANDIDATES, GIVEN_UP, order_is_due

#: Appliances of one chunk: little enough to be done within seconds, and held in memory.
CHUNK = 500
#: Far longer than a chunk takes.
CLAIM_LASTS = timedelta(minutes=2)
#: So many chunks at most are assessed at a time: other tasks get their turn between them.
LANES = 8
#: How long the accounts of former sweeps are kept.
KEPT = timedelta(days=7)


def sweep_begin(*, now: datetime) -> AssessmentSweep:
    """Begin a sweep of all that is stale, or return the one that is still under way.

    Args:
        now: the instant whose dates at the sites decide.
    """
    AssessmentSweep.objects.filter(finished_at__lt=now - KEPT).delete()
    under_way = AssessmentSweep.objects.filter(finished_at=None)
    if sweep := under_way.first():
        return sweep
    ids = list(stale_appliances(now).values_list("pk", flat=True))
    try:
        with transaction.atomic():
            sweep = AssessmentSweep.objects.create(started_at=now, stale_count=len(ids))
            SweepChunk.objects.bulk_create(
                SweepChunk(
                    sweep=sweep,
                    first_appliance_id=chunk[0],
                    last_appliance_id=chunk[-1],
                    total_count=len(chunk),
                )
                for chunk in (ids[start : start + CHUNK] for start in range(0, len(ids), CHUNK))
            )
    except IntegrityError:
        # Another scheduler's sweep began at this moment; it may even be done by now.
        return under_way.first() or AssessmentSweep.objects.latest("pk")
    return sweep


def sweep_lanes_free(*, now: datetime) -> int:
    """How many workers may still join the sweep under way: as many as there are chunks left, up to ``LANES``."""
    chunks = SweepChunk.objects.filter(sweep__finished_at=None)
    is_due = order_is_due(now=now, claim_lasts=CLAIM_LASTS)
    due = chunks.filter(is_due).count()
    running = chunks.filter(~is_due, state=WorkState.RUNNING).count()
    return max(0, min(due, LANES - running))


def sweep_chunk_claim(*, now: datetime) -> SweepChunk | None:
    """Take the first chunk that waits or was abandoned; None where there is none."""
    is_due = order_is_due(now=now, claim_lasts=CLAIM_LASTS)
    for pk in SweepChunk.objects.filter(is_due).order_by("pk").values_list("pk", flat=True)[:CANDIDATES]:
        claimed = SweepChunk.objects.filter(is_due, pk=pk).update(
            state=WorkState.RUNNING, claimed_at=now, attempts=F("attempts") + 1
        )
        if claimed:
            return SweepChunk.objects.get(pk=pk)
    return None


def sweep_chunk_assess(*, chunk: SweepChunk, now: datetime) -> SweepChunk:
    """Assess what is stale of a claimed chunk; what can't be assessed stays stale and is named in ``failure``."""
    if chunk.attempts > ATTEMPTS_MAX:
        return _end(chunk, WorkState.FAILED, GIVEN_UP)
    within = (chunk.first_appliance_id, chunk.last_appliance_id)
    ids = list(stale_appliances(now).filter(pk__range=within).values_list("pk", flat=True))
    outcome = appliances_reassess(appliance_ids=ids, now=now)
    chunk.done_count = outcome.assessed
    state = WorkState.FAILED if outcome.failures else WorkState.DONE
    return _end(chunk, state, "; ".join(outcome.failures))


def sweep_finish(*, now: datetime) -> AssessmentSweep | None:
    """Note the end of the sweep under way, once none of its chunks is left; return it if this call ended it."""
    left = SweepChunk.objects.filter(state__in=(WorkState.WAITING, WorkState.RUNNING))
    done = AssessmentSweep.objects.filter(finished_at=None).exclude(pk__in=left.values("sweep"))
    pk = done.values_list("pk", flat=True).first()
    if pk is None or not AssessmentSweep.objects.filter(pk=pk, finished_at=None).update(finished_at=now):
        return None
    return AssessmentSweep.objects.get(pk=pk)


def _end(chunk: SweepChunk, state: WorkState, failure: str) -> SweepChunk:
    chunk.state, chunk.failure = state, failure
    chunk.save(update_fields=["state", "failure", "done_count"])
    return chunk
