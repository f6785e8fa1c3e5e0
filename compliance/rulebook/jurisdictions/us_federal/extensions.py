"""How much later an extension puts a due date of one case, and up to which cap (82.157 and 84.106 (f)(1))."""

from dataclasses import dataclass, field
from datetime import date, timedelta

from compliance.rulebook import policy
from compliance.rulebook.dates import add_days
from compliance.rulebook.duties import Clock, Extension
from compliance.rulebook.facts import Fact
from compliance.rulebook.jurisdictions.docket import Docket, after, reckoned
from compliance.rulebook.tables import Row


@dataclass(frozen=True)
class ExtensionTerms:
    """The terms of one case on the day an extension is filed.

    ``opened_on`` is the day the rate was exceeded; ``days_held_up`` those by which mothballing has put its dates later.
    """

    docket: Docket
    opened_on: date
    needs_shutdown: bool
    days_held_up: int

    @property
    def cap(self) -> Row:
        """How long after the exceedance an extension for parts may run."""
        key = "extension_cap_with_shutdown" if self.needs_shutdown else "extension_cap"
        return self.docket.row(key, self.opened_on)

    def extension(self, fact: Fact) -> Extension:
        """The later due date, which mothballing may still move."""
        if fact.until is not None:
            return Extension(fact.until)
        delivered = None if fact.delivered_on is None else after(fact.delivered_on, self._after_delivery)
        return Extension(delivered, self._cap_on)

    def rests_on(self, fact: Fact) -> tuple[Row, ...]:
        """The rows that the later date was reckoned by."""
        return () if fact.until is not None else (self.cap, self._after_delivery)

    def in_words(self, fact: Fact) -> str:
        """The basis of the extension and its arithmetic."""
        if fact.until is not None:
            return f"{fact.basis_in_words}, until {fact.until}"
        mothballed = f" + {self.days_held_up} days mothballed" if self.days_held_up else ""
        capped = f"{self.opened_on} + {self.cap.in_words}{mothballed} = {self._cap_on}"
        if fact.delivered_on is None:
            return f"parts, {capped} ({policy.PARTS_DUE_ON_CAP})"
        return f"parts, {reckoned(fact.delivered_on, self._after_delivery)}, but no later than {capped}"

    def raise_cap(self, extension: Extension) -> None:
        """Gives an extension for parts that ended at the ordinary cap the present one."""
        ordinary = self.docket.row("extension_cap", self.opened_on)
        if extension.cap_on is not None:
            extension.cap_on += timedelta(days=self.cap.count - ordinary.count)
        if extension.replaces is not None:
            self.raise_cap(extension.replaces)

    @property
    def _cap_on(self) -> date:
        return add_days(after(self.opened_on, self.cap), self.days_held_up)

    @property
    def _after_delivery(self) -> Row:
        return self.docket.row("extension_after_delivery", self.opened_on)


@dataclass(eq=False)
class ExtensionRequest:
    """One request with the clocks that it has put later; ``is_granted`` is ``None`` until the agency answers.

    It counts as approved unless the agency says otherwise, whenever it does (82.157 and 84.106 (f)(4)).
    """

    fact: Fact
    given: list[tuple[Clock, Extension]] = field(default_factory=list)
    is_granted: bool | None = None

    def concerns(self, clock: Clock) -> bool:
        return any(clock is extended for extended, _ in self.given)

    def answer(self, *, is_granted: bool) -> None:
        """Takes the agency's answer; a refusal puts the clocks back."""
        self.is_granted = is_granted
        if not is_granted:
            for clock, extension in self.given:
                clock.refuse(extension)
