"""Checks that the seals follow on each other, and that every sealed head still stands at its place in its chain."""

from collections.abc import Iterator
from dataclasses import dataclass

from django.db.models import Exists, Max, OuterRef

from jobs.models import ChainLink, ChainSeal, SealedHead
from jobs.services.seals import BATCH, heads_sha256, seal_sha256


@dataclass(frozen=True)
class BrokenSeal:
    """The first seal that isn't as it was made, and what is wrong with it."""

    number: int
    because: str

    def __str__(self) -> str:
        return f"seal {self.number}: {self.because}"


@dataclass(frozen=True)
class FallenHead:
    """The first sealed head of a chain that no longer stands there, and what stands in its place."""

    chain: str
    sequence: int
    seal: ChainSeal
    because: str

    def __str__(self) -> str:
        return f"{self.chain} no. {self.sequence}, held by {str(self.seal).lower()} UTC: {self.because}"


def seals_verify() -> Iterator[BrokenSeal | FallenHead]:
    """Recompute every seal and look for every sealed head.

    The last seals, taken off together with all that they alone hold, leave no trace in the database: the hash of the
    newest is to be kept elsewhere too.

    Returns:
        The first broken seal, then for each chain its first head that fell.
    """
    if broken := next(_broken_seals(), None):
        yield broken
    yield from heads_fallen()


def heads_fallen() -> Iterator[FallenHead]:
    """For each chain the first sealed head that no longer stands at its place, by the name of the chain."""
    standing = ChainLink.objects.filter(
        chain=OuterRef("chain"), sequence=OuterRef("sequence"), sha256=OuterRef("sha256")
    )
    fallen = SealedHead.objects.filter(~Exists(standing)).select_related("seal")
    last = ""
    for head in fallen.order_by("chain", "seal__number").iterator(chunk_size=BATCH):
        if head.chain != last:
            last = head.chain
            yield FallenHead(head.chain, head.sequence, head.seal, _what_happened(head))


def _what_happened(head: SealedHead) -> str:
    links = ChainLink.objects.filter(chain=head.chain)
    if links.filter(sequence=head.sequence).exists():
        return "another record stands there than the one sealed; it was replaced"
    last = links.aggregate(last=Max("sequence"))["last"]
    if last is None:
        return "the whole chain was taken away"
    if last < head.sequence:
        return f"the chain ends with no. {last} now; what followed was taken away"
    return "the record was taken away"


def _broken_seals() -> Iterator[BrokenSeal]:
    previous: ChainSeal | None = None
    for seal in ChainSeal.objects.order_by("number").iterator(chunk_size=BATCH):
        if because := _what_is_wrong(seal, previous):
            yield BrokenSeal(seal.number, because)
        previous = seal


def _what_is_wrong(seal: ChainSeal, previous: ChainSeal | None) -> str:
    if seal.number != (previous.number + 1 if previous else 1):
        return "the seal before it is missing"
    if seal.previous_sha256 != (previous.sha256 if previous else ""):
        return "it doesn't follow on the seal before it"
    if seal_sha256(seal) != seal.sha256:
        return "it is not as it was made"
    heads = SealedHead.objects.filter(seal=seal).order_by()
    if heads_sha256(heads.values_list("chain", "sequence", "sha256")) != seal.heads_sha256:
        return "its heads are not those that it was made of"
    return ""
