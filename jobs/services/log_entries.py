"""A scale's log as it comes with a transfer, before it becomes a row."""

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from jobs.weighing import Columns


@dataclass(frozen=True)
class LogAnswers:
    """What a person says about a log that leaves it open; empty where the file speaks for itself."""

    unit: str = ""
    time_column: int | None = None
    weight_column: int | None = None

    @property
    def columns(self) -> Columns:
        return Columns(time=self.time_column, weight=self.weight_column)


@dataclass(frozen=True, eq=False)
class WeighedLog:
    """What was found in a log that was read and weighed, in plain values as it is stored.

    Attributes:
        net_mg: the net mass.
        uncertainty_mg: one standard deviation of it.
        figures: times, levels, direction, anomalies, plateaus and phases.
        curve: the thinned curve.
    """

    net_mg: int
    uncertainty_mg: int
    figures: Mapping[str, Any]
    curve: Mapping[str, Any]

    @property
    def direction(self) -> str | None:
        """``in`` where the weight rose, ``out`` where it fell; None where nothing flowed."""
        direction: str | None = self.figures["direction"]
        return direction

    @property
    def anomalies(self) -> list[str]:
        """What was odd and what was made of it, each in a sentence."""
        return [row["because"] for row in self.figures["anomalies"]]


@dataclass(frozen=True, eq=False)
class LogEntry:
    """A log that comes with a transfer: the file as it came, the answers, and what was read in it."""

    name: str
    content: bytes
    answers: LogAnswers
    weighed: WeighedLog

    @cached_property
    def sha256(self) -> str:
        return hashlib.sha256(self.content).hexdigest()
