"""Going through the pieces of a long report in little memory."""

from collections import deque
from collections.abc import Iterable, Iterator
from typing import TypeVar

Piece = TypeVar("Piece")


def drained(pieces: Iterable[Piece]) -> Iterator[Piece]:
    """Each piece in order, let go of before the next: what was calculated for it is given back."""
    waiting = deque(pieces)
    del pieces
    while waiting:
        yield waiting.popleft()
