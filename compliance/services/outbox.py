"""Sends rows that are e-mails: each is claimed first, so that two workers don't send one twice.

A worker that ends before it has noted the mail server's answer leaves a claim that grows old; the message is then
sent again under the same Message-ID. So it is where the clock was set back since: a claim that lies too far ahead
grows old from then on, and is its worker's until it has. Only if the worker ended while the text was being handed
over, the first one may have arrived: that is noted before the handing over begins, and struck out when the answer
has come.
"""

import datetime
import hashlib
import logging
from collections.abc import Callable
from typing import Any, TypeVar
from urllib.parse import urlsplit

from django.conf import settings
from django.core.mail import EmailMessage, get_connection
from django.db.models import Exists, F, Q, QuerySet

from compliance.models import MessageState
from compliance.models.outbox import OutboxMessage

logger = logging.getLogger(__name__)

Row = TypeVar("Row", bound=OutboxMessage)

# Longer than any server takes to answer (portal/web/smtp.py), shorter than anyone would wait.
CLAIM_LASTS = datetime.timedelta(minutes=15)
ATTEMPTS_MAX = 8
# Other workers may be quicker with the first of them.
CANDIDATES = 50
# 1, 2, 4 … minutes after a failure, at most six hours: a day's outage of a mail server is sat out.
BACK_OFF_FIRST = datetime.timedelta(minutes=1)
BACK_OFF_MAX = datetime.timedelta(hours=6)
ENDED_MIDWAY = "The worker ended while it was sending this."


def message_claim(rows: QuerySet[Row], *, now: datetime.datetime, is_wanted: Q | Exists) -> Row | None:
    """Claim the oldest row that waits to be sent, or whose claim is so old that its worker must have ended.

    Args:
        rows: the e-mails of one kind.
        now: the instant that counts as now.
        is_wanted: a condition on rows; those that don't meet it are dropped on the way.
    """
    _draw_in_claims(rows, now)
    _give_up_claims(rows, now)
    ready = rows.filter(_is_ready(now)).order_by("raised_at", "pk")
    for pk in ready.values_list("pk", flat=True)[:CANDIDATES]:
        row = rows.filter(_is_ready(now), pk=pk)
        if row.filter(~is_wanted).update(state=MessageState.DROPPED):
            continue
        if row.update(state=MessageState.SENDING, claimed_at=now, attempts=F("attempts") + 1):
            return rows.get(pk=pk)
    return None


def message_deliver(
    row: OutboxMessage, write: Callable[[], EmailMessage], *, sent_at: datetime.datetime
) -> bool:
    """Send a claimed row and note that; a failure is noted and tried again later.

    Args:
        row: as claimed.
        write: writes the message; what it raises counts as a failed attempt.
        sent_at: the instant that counts as now.

    Returns:
        Whether it was sent.
    """
    handing = _HandingOver(row, sent_at)
    try:
        message = write()
        message.connection = get_connection(handover=handing)
        message.send()
        if not handing.has_begun:
            # A backend that tells nothing, such as one for developers.
            handing.begin()
            handing.end(is_taken=True)
    except Exception as error:  # noqa: BLE001 -- whatever goes wrong is kept with the row and shown
        outcome = "was sent, but then" if handing.is_taken else "was not sent"
        logger.warning("%s %s to %s %s: %s", type(row).__name__, row.pk, row.recipient_email, outcome, error)
        if not handing.is_taken:
            handing.mine.update(**_failure(row, f"{type(error).__name__}: {error}", sent_at))
    return handing.is_taken


class _HandingOver:
    """Writes down with a claimed row that its text goes out, before it does, and what the server answers."""

    def __init__(self, row: OutboxMessage, sent_at: datetime.datetime) -> None:
        rows = type(row)._default_manager  # noqa: SLF001 -- Django documents it
        self.mine = rows.filter(pk=row.pk, state=MessageState.SENDING, attempts=row.attempts)
        self.sent_at = sent_at
        self.has_begun = self.is_taken = False

    def begin(self) -> None:
        self.has_begun = True
        if not self.mine.update(undecided_count=F("undecided_count") + 1):
            # This worker stood still for longer than a claim lasts.
            message = "another worker has taken it over"
            raise RuntimeError(message)

    def end(self, *, is_taken: bool) -> None:
        self.is_taken = is_taken
        decided: dict[str, Any] = {"undecided_count": F("undecided_count") - 1}
        if is_taken:
            decided |= {
                "state": MessageState.SENT,
                "sent_at": self.sent_at,
                "last_error": "",
                "next_attempt_at": None,
            }
        self.mine.update(**decided)


def message_headers(kind: str, identity: str) -> dict[str, str]:
    """Headers of an automatic message; its Message-ID is the same for every attempt at the same identity.

    By that a receiver can tell a second copy. By RFC 3834, no holiday notice answers an automatic message.
    """
    host = urlsplit(settings.SITE_URL).hostname or "localhost"
    digest = hashlib.sha256(identity.encode()).hexdigest()[:32]
    return {"Message-ID": f"<{kind}-{digest}@{host}>", "Auto-Submitted": "auto-generated"}


def _is_ready(now: datetime.datetime) -> Q:
    # No failure puts off so far: the clock has been set back since.
    is_due = Q(next_attempt_at=None) | Q(next_attempt_at__lte=now) | Q(next_attempt_at__gt=now + BACK_OFF_MAX)
    is_abandoned = Q(state=MessageState.SENDING, claimed_at__lte=now - CLAIM_LASTS)
    return (Q(state=MessageState.WAITING) & is_due) | is_abandoned


def _draw_in_claims(rows: QuerySet[Row], now: datetime.datetime) -> None:
    """Let claims of a clock that ran ahead grow old too; who holds one still goes by the count of attempts."""
    rows.filter(state=MessageState.SENDING, claimed_at__gt=now + CLAIM_LASTS).update(claimed_at=now)


def _give_up_claims(rows: QuerySet[Row], now: datetime.datetime) -> None:
    """Give up e-mails whose every attempt ended its worker."""
    rows.filter(
        state=MessageState.SENDING, claimed_at__lte=now - CLAIM_LASTS, attempts__gte=ATTEMPTS_MAX
    ).update(state=MessageState.FAILED, last_error=ENDED_MIDWAY)


def _failure(row: OutboxMessage, error: str, now: datetime.datetime) -> dict[str, object]:
    if row.attempts >= ATTEMPTS_MAX:
        return {"state": MessageState.FAILED, "last_error": error}
    wait = min(BACK_OFF_FIRST * 2 ** (row.attempts - 1), BACK_OFF_MAX)
    return {"state": MessageState.WAITING, "last_error": error, "next_attempt_at": now + wait}
