"""What an answer rests on besides its facts: rows of the tables, each of which may have been recalled from memory."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Protocol


class Ground(Protocol):
    """A row of the law's tables, or a property of the table of refrigerants."""

    @property
    def is_confirmed(self) -> bool:
        """Whether it was read in a source, and isn't recalled from memory."""

    @property
    def name(self) -> str:
        """What to look up, and where."""


@dataclass(frozen=True)
class PropertyGround:
    """One property of one refrigerant that a rule asked for."""

    name: str
    is_confirmed: bool


def doubts(grounds: Iterable[Ground]) -> list[str]:
    """The names of the grounds that aren't confirmed, each once, in their order."""
    return list(dict.fromkeys(ground.name for ground in grounds if not ground.is_confirmed))


def doubts_in_words(grounds: Iterable[Ground]) -> list[str]:
    """One sentence that names all that isn't confirmed; nothing where all is."""
    found = doubts(grounds)
    return [f"From memory, not confirmed: {'; '.join(found)}."] if found else []
