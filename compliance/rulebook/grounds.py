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


def doubts_in_words(grounds: Iterable[Ground]) -> list[str]:
    """One sentence that names all that isn't confirmed; nothing where all is."""
    return from_memory_in_words(ground.name for ground in grounds if not ground.is_confirmed)


def from_memory_in_words(names: Iterable[str]) -> list[str]:
    """One sentence that names what was recalled from memory, each once, in its order; nothing where nothing was."""
    found = list(dict.fromkeys(names))
    return [f"From memory, not confirmed: {'; '.join(found)}."] if found else []
