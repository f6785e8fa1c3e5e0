"""What every kind of ordered work shares: when it may be claimed, how it is begun anew, given up and told of."""

from datetime import datetime, timedelta
from functools import partial
from typing import Any, Final

from celery import current_app
from django.db import transaction
from django.db.models import Q

from compliance.models.work_orders import WorkOrder, WorkState

ATTEMPTS_MAX = 3
#: How often running work writes down how far it is.
PROGRESS_EVERY_S = 1
#: Other workers may be quicker with the first of them.
CANDIDATES = 10
GIVEN_UP = f"Given up: {ATTEMPTS_MAX} attempts ended without a word, as if killed."
#: A failed order as it is put back into the queue.
ANEW: Final[dict[str, Any]] = {"state": WorkState.WAITING, "failure": "", "attempts": 0, "claimed_at": None}


def order_is_due(*, now: datetime, claim_lasts: timedelta) -> Q:
    """The condition that an order waits, or that its claim is so old that its worker must have been killed.

    So it counts if the claim lies that far ahead: the clock was set back, and a worker that lives finds it taken.
    """
    old = Q(state=WorkState.RUNNING, claimed_at__lt=now - claim_lasts)
    ahead = Q(state=WorkState.RUNNING, claimed_at__gt=now + claim_lasts)
    return Q(state=WorkState.WAITING) | old | ahead


def order_fail(order: WorkOrder, failure: str) -> None:
    """Keep what went wrong with the order."""
    order.state, order.failure = WorkState.FAILED, failure
    order.save(update_fields=["state", "failure"])


def order_announce(order: WorkOrder, task: str) -> None:
    """Tell a worker, by the task's name, once the order stands; without a broker the schedule finds it later."""
    transaction.on_commit(partial(current_app.send_task, task, args=[order.pk]), robust=True)
