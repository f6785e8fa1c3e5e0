"""Seals over the hash chains: what each chain ended with, one night after the other."""

import datetime
import hashlib
from collections.abc import Iterable

from django.db import IntegrityError, transaction
from django.db.models import Exists, Max, OuterRef
from django.utils import timezone

from jobs.models import ChainLink, ChainSeal, SealedHead
from jobs.services.chain import canonical_json

# Rows written, or read, at a time.
BATCH = 1000

Head = tuple[str, int, str]


def chains_seal_tonight(*, now: datetime.datetime) -> ChainSeal:
    """Seal the chains unless the newest seal is of the same date at the firm; return that seal or the new one.

    The newest counts, not the latest: a seal of a clock that ran ahead doesn't keep the nights to come from theirs.
    """
    newest = newest_seal()
    if newest and timezone.localdate(newest.sealed_at) == timezone.localdate(now):
        return newest
    return _seal_after(newest, now)


def chains_seal(*, now: datetime.datetime) -> ChainSeal:
    """Seal what every chain ends with, in one transaction; of two sealings at one moment one is made.

    The heads are read before, since SQLite lets nobody else write during a transaction.

    Raises:
        IntegrityError: the database refused something else than the second of two.
    """
    return _seal_after(newest_seal(), now)


def _seal_after(previous: ChainSeal | None, now: datetime.datetime) -> ChainSeal:
    """The seal that comes after the one the caller judged by: whoever else judged by it gets the same."""
    changed, chain_count, link_count = _heads()
    seal = ChainSeal(
        number=previous.number + 1 if previous else 1,
        sealed_at=now,
        previous_sha256=previous.sha256 if previous else "",
        chain_count=chain_count,
        link_count=link_count,
        heads_sha256=heads_sha256(changed),
    )
    seal.sha256 = seal_sha256(seal)
    try:
        with transaction.atomic():
            seal.save()
            rows = (SealedHead(seal=seal, chain=c, sequence=n, sha256=sha256) for c, n, sha256 in changed)
            SealedHead.objects.bulk_create(rows, batch_size=BATCH)
    except IntegrityError:
        if other := ChainSeal.objects.filter(number=seal.number).first():
            return other
        raise
    return seal


def newest_seal() -> ChainSeal | None:
    """The last seal in their order; None before the first."""
    return ChainSeal.objects.order_by("-number").first()


def heads_sha256(heads: Iterable[Head]) -> str:
    """The SHA-256 of a seal's heads, in the order of their chains' names.

    Args:
        heads: of each its chain, its place there, and its hash.
    """
    return hashlib.sha256(canonical_json(sorted(heads))).hexdigest()


def seal_sha256(seal: ChainSeal) -> str:
    """The SHA-256 of a seal: of its place, its instant, its predecessor's hash, its counts and its heads."""
    document = {
        "number": seal.number,
        "sealed_at": seal.sealed_at.astimezone(datetime.UTC).isoformat(),
        "previous_sha256": seal.previous_sha256,
        "chain_count": seal.chain_count,
        "link_count": seal.link_count,
        "heads_sha256": seal.heads_sha256,
    }
    return hashlib.sha256(canonical_json(document)).hexdigest()


def _heads() -> tuple[list[Head], int, int]:
    """The heads that no seal holds yet, and the counts of all chains and of their links: one statement, one moment."""
    newest = ChainLink.objects.order_by().values("chain").annotate(newest=Max("pk")).values("newest")
    sealed = SealedHead.objects.filter(
        chain=OuterRef("chain"), sequence=OuterRef("sequence"), sha256=OuterRef("sha256")
    )
    heads = ChainLink.objects.order_by().filter(pk__in=newest).annotate(is_sealed=Exists(sealed))
    changed: list[Head] = []
    chain_count = link_count = 0
    columns = heads.values_list("chain", "sequence", "sha256", "is_sealed")
    for chain, sequence, sha256, is_sealed in columns.iterator(chunk_size=BATCH):
        chain_count, link_count = chain_count + 1, link_count + sequence
        if not is_sealed:
            changed.append((chain, sequence, sha256))
    return changed, chain_count, link_count
