"""A scale's log as it comes with a transfer, before it becomes a row."""

import hashlib
from dataclasses import dataclass
from functools import cached_property

from jobs.weighing import Columns, Weighing
from jobs.weighing.log import WeighLog as ReadLog


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
    """A log that was read and weighed."""

    log: ReadLog
    weighing: Weighing

    @property
    def net_mg(self) -> int:
        return int(self.weighing.net_mg)


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
