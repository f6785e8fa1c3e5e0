"""Record packs that were asked for: made by a worker, kept, and gone on with after a worker that was killed.

The row is the order and the result. A worker claims it, and renews its claim with every bit of progress; an old
claim belongs to a worker that was killed, and the next goes on with the files that are there.
"""

import logging
import shutil
import time
from datetime import date, datetime, timedelta
from pathlib import Path

from django.conf import settings
from django.core.files.base import File
from django.db import transaction
from django.db.models import F, QuerySet
from django.utils import timezone

from compliance.models import RecordPack, WorkState
from compliance.selectors.pack_contents import PackScope
from compliance.services.packs.building import BuiltPack, Progress, pack_build
from compliance.services.work_orders import (
    ANEW,
    ATTEMPTS_MAX,
    CANDIDATES,
    GIVEN_UP,
    PROGRESS_EVERY_S,
    order_announce,
    order_fail,
    order_is_due,
)
from jobs.models import Appliance, Customer, Site
from portal.accounts.models import User

logger = logging.getLogger(__name__)

#: Longer than the longest file takes to print; a claim as old as this belongs to a worker that was killed.
CLAIM_LASTS = timedelta(minutes=5)
#: Below the limit of a task: what is left then goes on in the next.
WORK_LASTS_S = 600
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
    asked_at: datetime,
) -> RecordPack:
    """Ask for a pack; a worker is told of it once the order stands in the database."""
    kind = {Customer: "customer", Site: "site", Appliance: "appliance"}[type(subject)]
    pack = RecordPack(
        happened_from=happened_from,
        happened_to=happened_to,
        known_at=known_at,
        asked_by=by,
        asked_at=asked_at,
        **{kind: subject},
    )
    pack.full_clean()
    pack.save()
    order_announce(pack, MAKE_TASK)
    return pack


@transaction.atomic
def record_pack_retry(*, pack: RecordPack) -> None:
    """Put a failed pack back into the queue; one that isn't failed stays as it is."""
    if RecordPack.objects.filter(pk=pack.pk, state=WorkState.FAILED).update(**ANEW):
        order_announce(pack, MAKE_TASK)


def record_pack_claim(*, now: datetime, pk: int | None = None) -> RecordPack | None:
    """Take a pack that waits or was abandoned, the oldest unless ``pk`` says which; None where there is none."""
    is_due = order_is_due(now=now, claim_lasts=CLAIM_LASTS)
    due = RecordPack.objects.filter(is_due).order_by("pk")
    for candidate in (due if pk is None else due.filter(pk=pk)).values_list("pk", flat=True)[:CANDIDATES]:
        claimed = RecordPack.objects.filter(is_due, pk=candidate).update(
            state=WorkState.RUNNING, claimed_at=now, attempts=F("attempts") + 1
        )
        if claimed:
            return RecordPack.objects.select_related("customer", "site", "appliance__site", "asked_by").get(
                pk=candidate
            )
    return None


def record_pack_make(*, pack: RecordPack) -> RecordPack:
    """Make a claimed pack and keep it; a fault is kept with it and shown on its page.

    A pack for which the time of one task isn't enough goes back into the queue as far as it is.
    """
    if pack.attempts > ATTEMPTS_MAX:
        return _fail(pack, GIVEN_UP)
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


def _scope(pack: RecordPack) -> PackScope:
    return PackScope(
        happened_from=pack.happened_from,
        happened_to=pack.happened_to,
        known_at=pack.known_at,
        asked_by=str(pack.asked_by),
        asked_at=pack.asked_at,
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
                state=WorkState.WAITING, attempts=0, claimed_at=None
            )
            raise PackIsLeft

    return write


def _mine(pack: RecordPack) -> QuerySet[RecordPack]:
    """The row, while the claim on it is still ours."""
    return RecordPack.objects.filter(pk=pack.pk, state=WorkState.RUNNING, claimed_at=pack.claimed_at)


@transaction.atomic
def _keep(pack: RecordPack, built: BuiltPack) -> None:
    if not _mine(pack).select_for_update().exists():
        raise PackIsLeft
    with built.path.open("rb") as content:
        pack.file.save(f"{_scope(pack).name}.zip", File(content), save=False)
    pack.state = WorkState.DONE
    pack.file_sha256, pack.manifest_sha256 = built.sha256, built.manifest_sha256
    pack.save()


def _fail(pack: RecordPack, failure: str) -> RecordPack:
    order_fail(pack, failure)
    return pack
