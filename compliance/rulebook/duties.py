"""Duties while they are being followed through the facts: a clock that can stand still, and what became of the duty."""

from dataclasses import dataclass, field
from datetime import date, timedelta

from compliance.rulebook import policy
from compliance.rulebook.facts import Fact
from compliance.rulebook.grounds import Ground, doubts_in_words
from compliance.rulebook.results import Obligation, ObligationKind, Status


@dataclass
class Extension:
    """A later due date: ``until`` a day, but not after ``cap_on``; one of them may be missing.

    ``replaces`` is the earlier one on the same ground, which counts again where this one is refused.
    """

    until: date | None
    cap_on: date | None = None
    replaces: "Extension | None" = None
    is_refused: bool = False

    @property
    def due_on(self) -> date:
        return min(on for on in (self.until, self.cap_on) if on is not None)

    @property
    def standing(self) -> "Extension | None":
        """This one, or the newest one before it that wasn't refused."""
        if not self.is_refused:
            return self
        return self.replaces and self.replaces.standing

    def put_later(self, held_up: timedelta) -> None:
        """Moves both days, as mothballing does."""
        self.until = self.until and self.until + held_up
        self.cap_on = self.cap_on and self.cap_on + held_up
        if self.replaces is not None:
            self.replaces.put_later(held_up)


@dataclass
class Clock:
    """A due date that extensions may put later and mothballing may hold up.

    ``base_on`` is the date without extensions, ``None`` while nothing sets one. While suspended no date is running.
    """

    base_on: date | None
    extensions: dict[str, Extension] = field(default_factory=dict)
    suspended_on: date | None = None

    @property
    def nominal_on(self) -> date | None:
        """The due date as if no suspension were running."""
        if self.base_on is None or not self.extensions:
            return self.base_on
        standing = (extension.standing for extension in self.extensions.values())
        return max([self.base_on, *(extension.due_on for extension in standing if extension is not None)])

    @property
    def due_on(self) -> date | None:
        return None if self.suspended_on else self.nominal_on

    def is_past(self, on: date) -> bool:
        return self.due_on is not None and self.due_on < on

    def extend(self, ground: str, extension: Extension) -> None:
        """Puts an extension in the place of the one on the same ground."""
        extension.replaces = self.extensions.get(ground)
        self.extensions[ground] = extension

    def refuse(self, extension: Extension) -> None:
        """Takes an extension away; a clock that was stopped after the day that counts again isn't suspended."""
        extension.is_refused = True
        due_on = self.nominal_on
        if self.suspended_on is not None and due_on is not None and due_on < self.suspended_on:
            self.suspended_on = None

    def start(self, base_on: date, on: date) -> None:
        """Sets the date of a clock that had none; one that is stopped keeps the days left from ``on``."""
        self.base_on = base_on
        if self.suspended_on is not None:
            self.suspended_on = on

    def suspend(self, on: date) -> None:
        """Stops the clock, unless its day has passed or it stands still already (``policy.MOTHBALL_SUSPENDS``)."""
        if self.suspended_on is None and not self.is_past(on):
            self.suspended_on = on

    def resume(self, on: date) -> timedelta:
        """Lets the clock go on with the days that were left; says for how long it had stood still."""
        if self.suspended_on is None:
            return timedelta(0)
        held_up = on - self.suspended_on
        self.suspended_on = None
        if self.base_on is not None:
            self.base_on += held_up
        for extension in self.extensions.values():
            extension.put_later(held_up)
        return held_up


@dataclass(frozen=True)
class Ending:
    """Why a duty is no longer owed; what is done after ``on`` comes too late to meet it."""

    on: date
    sentence: str


@dataclass
class Duty:
    """One obligation in the making; ``finish`` turns it into the frozen row of the answer.

    ``sentences`` grow into the row's ``because``, ``rests_on`` with every row of the tables that decides something of
    it; ``closed_due_on`` keeps the due date of the day it was closed.
    """

    rule: str
    kind: ObligationKind
    opened_on: date
    clock: Clock
    citation: str
    sentences: list[str]
    rests_on: list[Ground]
    opened_by_event: str | None = None
    closed_as: Status | None = None
    closed_due_on: date | None = None
    met_on: date | None = None
    met_by_event: str | None = None

    @property
    def is_pending(self) -> bool:
        return self.closed_as is None

    def note(self, sentence: str) -> None:
        if sentence not in self.sentences:
            self.sentences.append(sentence)

    def rest_on(self, *grounds: Ground) -> None:
        """Keeps rows that decide something of the duty, such as that it is due later."""
        self.rests_on.extend(grounds)

    def meet(self, on: date, event: str | None, sentence: str) -> None:
        self.met_on, self.met_by_event = on, event
        self._close(Status.MET_LATE if self.clock.is_past(on) else Status.MET, sentence)

    def settle(self, done: Fact | None, sentence: str, ending: Ending | None) -> None:
        """Meets the duty by what was done, ends it where that came after ``ending`` or not at all, or leaves it."""
        if done is not None and (ending is None or done.on <= ending.on):
            self.meet(done.on, done.event, f"{sentence} on {done.on}.")
        elif ending is not None:
            self.cancel(ending.sentence)

    def fail(self, sentence: str) -> None:
        self._close(Status.FAILED, sentence)

    def cancel(self, sentence: str) -> None:
        self._close(Status.CANCELLED, sentence)

    def reopen(self, sentence: str) -> None:
        """Undoes having been met; the due date is the clock's own, passed or not."""
        self.closed_as = self.closed_due_on = self.met_on = self.met_by_event = None
        self.note(sentence)

    def finish(self, as_of: date) -> Obligation:
        """The row as it stands on ``as_of``; due that day is still open."""
        in_doubt = doubts_in_words(self.rests_on)
        return Obligation(
            rule=self.rule,
            kind=self.kind,
            opened_on=self.opened_on,
            due_on=self.clock.due_on if self.is_pending else self.closed_due_on,
            status=self.closed_as or self._running_status(as_of),
            met_on=self.met_on,
            citation=self.citation,
            because=" ".join([*self.sentences, *self._suspension(), *in_doubt]),
            is_confirmed=not in_doubt,
            opened_by_event=self.opened_by_event,
            met_by_event=self.met_by_event,
        )

    def _close(self, status: Status, sentence: str) -> None:
        self.closed_as, self.closed_due_on = status, self.clock.due_on
        self.note(sentence)

    def _suspension(self) -> list[str]:
        """Since when a pending duty stands still, and with how many days left."""
        stopped_on = self.clock.suspended_on
        if not self.is_pending or stopped_on is None:
            return []
        due_on = self.clock.nominal_on
        left = "" if due_on is None else f" with {(due_on - stopped_on).days} days left to {due_on}"
        return [f"Suspended on {stopped_on}{left}. {policy.MOTHBALL_SUSPENDS.sentence}."]

    def _running_status(self, as_of: date) -> Status:
        if self.clock.suspended_on:
            return Status.SUSPENDED
        return Status.OVERDUE if self.clock.is_past(as_of) else Status.OPEN
