"""Going through the pieces of a long report in little memory."""

from collections.abc import Iterator
from typing import TypeVar

Piece = TypeVar("Piece")


def drained(pieces: list[Piece]) -> Iterator[Piece]:
    """Take each piece in order out of the list, so that what is calculated for one is given back before the next."""
    while pieces:
        yield pieces.pop(0)
