"""A scale's log as read: when it showed what. How it is read stands in ``reading``."""

from dataclasses import dataclass
from datetime import datetime
from typing import Literal

import numpy as np
from numpy.typing import NDArray

TimeKind = Literal["instant", "clock", "elapsed"]


@dataclass(frozen=True)
class Columns:
    """Which columns of the file to read, counted from 0; ``None`` where the file itself is clear."""

    time: int | None = None
    weight: int | None = None


@dataclass(frozen=True, eq=False)
class WeighLog:
    """The readings of a scale in the order of the file.

    Args:
        times_s: seconds since the first reading, never falling, shape (n,).
        weights_mg: what the scale showed, whole milligrams, shape (n,).
        time_texts: the time of each reading as the file has it, n of them.
        time_kind: ``instant`` (ISO 8601), ``clock`` (HH:MM:SS) or ``elapsed`` (seconds).
        went_back_at: indices of readings before which the clock was put back.
        resolution_mg: the last digit that the log shows.
        unit: kg, g, lb or oz, as the log or whoever has it says.
        columns: the columns that were read.
        column_names: names of all columns as the file has them, empty texts without a header.
        has_ounces_apart: whether the weight's ounces stood in a column of their own, next to its pounds.
    """

    times_s: NDArray[np.float64]
    weights_mg: NDArray[np.int64]
    time_texts: tuple[str, ...]
    time_kind: TimeKind
    went_back_at: tuple[int, ...]
    resolution_mg: float
    unit: str
    columns: Columns
    column_names: tuple[str, ...]
    has_ounces_apart: bool = False

    @property
    def samples(self) -> int:
        """How many readings the log has."""
        return len(self.time_texts)

    @property
    def starts_at(self) -> datetime | None:
        """The instant of the first reading, where the file has dates; with the zone that the file has."""
        return self._instant(0)

    @property
    def ends_at(self) -> datetime | None:
        """The instant of the last reading, where the file has dates; with the zone that the file has."""
        return self._instant(-1)

    def _instant(self, index: int) -> datetime | None:
        return datetime.fromisoformat(self.time_texts[index]) if self.time_kind == "instant" else None
