"""What the services refuse, each with a sentence for a person."""

from dataclasses import dataclass
from typing import Any


class ApplicationError(Exception):
    """A refusal that a person can read."""


class FiledRecordIsFixed(ApplicationError):
    """Someone tried to change or delete a filed record."""

    def __init__(self, what: Any) -> None:
        super().__init__(f"A filed {what} is never changed or deleted; file an amendment instead.")


@dataclass(frozen=True)
class Refusal:
    """One thing wrong with what a person sent.

    Attributes:
        field: the form's or API's name of the field, such as ``transfers-0-mass``.
        value: what was sent.
        expected: what would have been right, as a sentence.
        citation: the paragraph that says so, if a law does.
    """

    field: str
    value: Any
    expected: str
    citation: str = ""

    def __str__(self) -> str:
        shown = "nothing" if self.value in (None, "") else f"“{self.value}”"
        source = f" ({self.citation})" if self.citation else ""
        return f"{self.expected}{source} You gave {shown}."


class SubmissionRefused(ApplicationError):
    """A whole submission is refused; nothing of it was saved."""

    def __init__(self, refusals: list[Refusal]) -> None:
        self.refusals = refusals
        super().__init__(" ".join(f"{refusal.field}: {refusal}" for refusal in refusals))
