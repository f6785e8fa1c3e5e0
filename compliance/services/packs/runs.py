"""Record packs that were asked for: made by a worker, kept, and gone on with after a worker that was killed.

The row is the order and the result. A worker claims it, and renews its claim with every bit of progress; an old
claim belongs to a worker that was killed, and the next goes on with the files that are there.
"""

import logging
import shutil
import time
from datetime import date, datetime, timedelta
from functools import partial
from pathlib import Path

from celery import current_app
from django.conf import settings
from django.core.files.base import File
from django.db import transaction
from django.db.models import F, Q, QuerySet
from django.utils import timezone

from compliance.models import RecordPack, ReportState
from compliance.selectors.pack_contents import PackScope
from compliance.services.packs.building import BuiltPack, Progress, pack_build
from jobs.models import Appliance, Customer, Site
from portal.accounts.models import User

logger = logging.getLogger(__name__)

#: Longer than the longest file takes to print; a claim as old as this belongs to a worker that was killed.
CLAIM_LASTS = timedelta(minutes=5)
#: Below the limit of a task: what is left then goes on in the next.
WORK_LASTS_S = 600
ATTEMPTS_MAX = 3
PROGRESS_EVERY_S = 1
#: By name: tasks call services, never the other way.
MAKE_TASK = "compliance.tasks.make_record_pack"


class PackIsLeft(Exception):
    """The time of the task is up, or another worker has taken the pack over."""


@transaction.atomic
def record_pack_request(
    *,
    by: User,
    subject: Customer | Site | Appliance,
    happened_from: date,
    happened_to: date,
    known_at: datetime,
) -> RecordPack:
    """Ask for a pack; a worker is told of it once the order stands in the database."""
    kind = {Customer: "customer", Site: "site", Appliance: "appliance"}[type(subject)]
    pack = RecordPack(
        happened_from=happened_from,
        happened_to=happened_to,
        known_at=known_at,
        asked_by=by,
        **{kind: subject},
    )
    pack.full_clean()
    pack.save()
    _tell_a_worker(pack)
    return pack


@transaction.atomic
def record_pack_retry(*, pack: RecordPack) -> None:
    """Put a failed pack back into the queue; one that isn't failed stays as it is."""
    fresh = {"state": ReportState.WAITING, "failure": "", "attempts": 0, "claimed_at": None}
    if RecordPack.objects.filter(pk=pack.pk, state=ReportState.FAILED).update(**fresh):
        _tell_a_worker(pack)


def record_pack_claim(*, now: datetime, pk: int | None = None) -> RecordPack | None:
    """Take a pack that waits or was abandoned, the oldest unless ``pk`` says which; None where there is none."""
    is_due = Q(state=ReportState.WAITING) | Q(state=ReportState.RUNNING, claimed_at__lt=now - CLAIM_LASTS)
    due = RecordPack.objects.filter(is_due).order_by("known_at", "pk")
    for candidate in (due if pk is None else due.filter(pk=pk)).values_list("pk", flat=True)[:10]:
        claimed = RecordPack.objects.filter(is_due, pk=candidate).update(
            state=ReportState.RUNNING, claimed_at=now, attempts=F("attempts") + 1
        )
        if claimed:
            return RecordPack.objects.select_related("customer", "site", "appliance__site").get(pk=candidate)
    return None


def record_pack_make(*, pack: RecordPack) -> RecordPack:
    """Make a claimed pack and keep it; a fault is kept with it and shown on its page.

    A pack for which the time of one task isn't enough goes back into the queue as far as it is.
    """
    if pack.attempts > ATTEMPTS_MAX:
        return _fail(pack, f"Given up: {ATTEMPTS_MAX} attempts ended without a word, as if killed.")
    folder = _folder(pack)
    try:
        built = pack_build(_scope(pack), folder, _ready(folder), _progress(pack))
        _keep(pack, built)
    except PackIsLeft:
        return pack
    except Exception as error:
        logger.exception("Record pack %s failed", pack.pk)
        return _fail(pack, f"{type(error).__name__}: {error}")
    shutil.rmtree(folder, ignore_errors=True)
    built.path.unlink(missing_ok=True)
    return pack


def _tell_a_worker(pack: RecordPack) -> None:
    """Send the message that a pack waits; without a broker the schedule finds it a little later."""
    transaction.on_commit(partial(current_app.send_task, MAKE_TASK, args=[pack.pk]), robust=True)


def _scope(pack: RecordPack) -> PackScope:
    return PackScope(
        happened_from=pack.happened_from,
        happened_to=pack.happened_to,
        known_at=pack.known_at,
        customer=pack.customer,
        site=pack.site,
        appliance=pack.appliance,
    )


def _folder(pack: RecordPack) -> Path:
    return Path(settings.DATA_DIR) / "packs" / str(pack.pk)


def _ready(folder: Path) -> Path:
    """The ZIP beside the folder, while it is being made."""
    folder.mkdir(parents=True, exist_ok=True)
    return folder.with_suffix(".zip")


def _progress(pack: RecordPack) -> Progress:
    """Write down how far a pack is and renew the claim, not oftener than anyone looks."""
    started_at = next_at = time.monotonic()

    def write(done: int, total: int) -> None:
        nonlocal next_at
        now = time.monotonic()
        if now < next_at and done < total:
            return
        next_at = now + PROGRESS_EVERY_S
        mine = _mine(pack)
        claimed_at = timezone.now()
        if not mine.update(done_count=done, total_count=total, claimed_at=claimed_at):
            raise PackIsLeft
        pack.claimed_at, pack.done_count, pack.total_count = claimed_at, done, total
        if now > started_at + WORK_LASTS_S and done < total:
            RecordPack.objects.filter(pk=pack.pk, claimed_at=claimed_at).update(
                state=ReportState.WAITING, attempts=0, claimed_at=None
            )
            raise PackIsLeft

    return write


def _mine(pack: RecordPack) -> QuerySet[RecordPack]:
    """The row, while the claim on it is still ours."""
    return RecordPack.objects.filter(pk=pack.pk, state=ReportState.RUNNING, claimed_at=pack.claimed_at)


@transaction.atomic
def _keep(pack: RecordPack, built: BuiltPack) -> None:
    if not _mine(pack).select_for_update().exists():
        raise PackIsLeft
    with built.path.open("rb") as content:
        pack.file.save(f"{_scope(pack).name}.zip", File(content), save=False)
    pack.state = ReportState.DONE
    pack.file_sha256, pack.manifest_sha256 = built.sha256, built.manifest_sha256
    pack.save()


def _fail(pack: RecordPack, failure: str) -> RecordPack:
    pack.state, pack.failure = ReportState.FAILED, failure
    pack.save(update_fields=["state", "failure"])
    return pack
