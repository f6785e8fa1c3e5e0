"""What the amending and the withdrawing of a filed record share, whatever its kind."""

from typing import Any, TypeVar

from jobs.models import AmendableRecord, CaseFiling, LeakRateMethodChange, LeakRateMethodCorrection
from jobs.selectors.amendments import newer_record
from jobs.services.refusals import Refusals

Record = TypeVar("Record", CaseFiling, LeakRateMethodChange, LeakRateMethodCorrection)


def standing_record(record: Record, reason: str, *, word: str) -> Record:
    """The record as it stands, read under the lock of what it is about.

    Args:
        record: what is to be amended or withdrawn.
        reason: why.
        word: what a person calls it, such as “filing”; the form's name of it too.

    Raises:
        SubmissionRefused: a later one took its place, it says that another counts no more, or no reason is given.
    """
    refusals = Refusals()
    current = type(record).objects.select_related("superseded_by").get(pk=record.pk)
    newer = newer_record(current)
    if newer is not None:
        refusals.add(word, current, f"Expected the one that stands: this was superseded by {newer}.")
    elif current.is_void:
        refusals.add(word, current, f"Expected a {word} that counts; file it anew instead.")
    if not reason.strip():
        refusals.add("reason", reason, "Expected why.")
    refusals.raise_any()
    return current


def in_place_of(former: AmendableRecord | None, reason: str = "") -> dict[str, Any]:
    """The columns of a record that takes the place of another; none of one that is the first of its line."""
    if former is None:
        return {}
    return {
        "supersedes": former,
        "original_id": former.original_id or former.pk,
        "amendment_reason": reason.strip(),
    }
