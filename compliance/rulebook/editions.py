"""Answers that change with a rule's tables alone, asked once for each of their editions."""

from collections import defaultdict
from collections.abc import Callable, Hashable
from datetime import date
from typing import Generic, TypeVar

from compliance.rulebook.tables import Tables

Key = TypeVar("Key", bound=Hashable)
Answer = TypeVar("Answer")


class OncePerEdition(Generic[Key, Answer]):
    """What was answered for a key on a day is the answer for it on every day of the same edition of the rule."""

    def __init__(self, rule: str, tables: Tables) -> None:
        self._rule = rule
        self._tables = tables
        self._known: defaultdict[Key, list[tuple[date, date, Answer]]] = defaultdict(list)

    def get(self, key: Key, on: date, ask: Callable[[], Answer]) -> Answer:
        """The answer for a key on a day, asked for if none is known of that edition."""
        known = self._known[key]
        for first_on, next_on, answer in known:
            if first_on <= on < next_on:
                return answer
        answer = ask()
        known.append((*self._tables.edition(self._rule, on), answer))
        return answer
