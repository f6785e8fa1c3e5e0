"""One leak under California's rule: its repair, its tests, and retrofit or retirement where it isn't repaired."""

from collections.abc import Sequence
from datetime import date

from compliance.rulebook import policy
from compliance.rulebook.dates import add_days
from compliance.rulebook.duties import Clock, Duty, Extension
from compliance.rulebook.facts import (
    CALIFORNIA_PARTS,
    CALIFORNIA_REPORTING_PROCESS,
    CALIFORNIA_SHUTDOWN,
    CALIFORNIA_TECHNICIAN,
    Category,
    Fact,
    FactKind,
)
from compliance.rulebook.grounds import Ground
from compliance.rulebook.jurisdictions.docket import Docket, after, reckoned
from compliance.rulebook.jurisdictions.leak_repairs import detection_in_words
from compliance.rulebook.open_leaks import OpenLeaks
from compliance.rulebook.results import ObligationKind
from compliance.rulebook.tables import Row

# The longer days of 95386 by their ground; those for a shutdown are of industrial processes alone.
_LONGER = {
    "parts": "repair_extended",
    CALIFORNIA_PARTS: "repair_extended",
    CALIFORNIA_TECHNICIAN: "repair_extended",
    CALIFORNIA_SHUTDOWN: "repair_extended",
    CALIFORNIA_REPORTING_PROCESS: "repair_extended_by_process",
}
_OF_PROCESSES = (CALIFORNIA_SHUTDOWN, CALIFORNIA_REPORTING_PROCESS)


class LeakCase:
    """Opens with the detection of a leak; closes with a passed follow-up test, or a retrofit or retirement."""

    def __init__(self, docket: Docket, detected: Fact) -> None:
        self._docket = docket
        self._detected = detected
        self._leaks = OpenLeaks(known={detected.leak} if detected.leak else set())
        self._worked_on: date | None = None
        self._reopened_on: date | None = None
        category = docket.timeline.appliance.category
        self._is_process = category is Category.INDUSTRIAL_PROCESS_REFRIGERATION
        self.is_elected = False
        self.is_closed = False
        row = docket.row("repair", detected.on)
        self._clock = Clock(after(detected.on, row))
        found = f"{detection_in_words(detected)} {reckoned(detected.on, row)}."
        words = f"{found} {policy.LEAK_IS_DETECTED_BY.sentence}."
        self.repair = self._open(ObligationKind.REPAIR, row, detected, self._clock, words)
        test = docket.row("initial_verification_test", detected.on)
        words = f"{found} {policy.INITIAL_TEST_WITH_REPAIR.sentence}."
        self._initial = self._open(
            ObligationKind.INITIAL_VERIFICATION_TEST, test, detected, self._clock, words, rests_on=[row]
        )
        self._follow_up: Duty | None = None
        self._plan: Duty | None = None
        self._completion: Duty | None = None

    def note(self, fact: Fact) -> None:
        """A leak named while this case is open belongs to it as long as its repair is owed."""
        if self.repair.is_pending:
            self._leaks.note(fact)

    def is_recharge(self, fact: Fact) -> bool:
        """Whether an addition puts back what the work of that day took (``policy.RECHARGE_DETECTS_NOTHING``)."""
        return fact.kind is FactKind.ADDITION and fact.on == self._worked_on

    def pass_to(self, on: date) -> None:
        """Lets time go on to the morning of ``on``: the days for repair may have run out."""
        due_on = self._clock.due_on
        if self._reopened_on is not None and self._reopened_on >= on:
            return  # a repair that failed its test may still be made good on that day
        if self._plan is None and self.repair.is_pending and due_on is not None and due_on < on:
            lapsed_on = add_days(due_on, 1)
            opened_on = lapsed_on if self._reopened_on is None else max(lapsed_on, self._reopened_on)
            self._require_plan(opened_on, None, f"Not repaired by {due_on}")

    def take_repair(self, fact: Fact) -> None:
        if self.is_elected:
            return
        self._worked_on = fact.on
        self._leaks.note(fact)
        if self.repair.is_pending:
            self.repair.meet(fact.on, fact.event, f"Repaired on {fact.on}.")

    def take_initial_test(self, fact: Fact) -> None:
        """A passed test meets the duty once a repair is on record; a failed one reopens the repair."""
        if self.is_elected or self.repair.is_pending:
            return
        self._worked_on = fact.on
        still_open = self._leaks.take_test(fact)
        if not fact.passed:
            self._fail_initial(fact)
        elif still_open:
            self._initial.note(f"The test of {fact.on} passed, still open: {', '.join(still_open)}.")
        elif self._initial.is_pending:
            self._initial.meet(fact.on, fact.event, f"Passed on {fact.on}.")
            self._start_follow_up(fact)
            self._spare_plan(fact)

    def take_follow_up_test(self, fact: Fact) -> None:
        duty = self._follow_up
        if duty is None or not duty.is_pending or self._initial.is_pending:
            return
        still_open = self._leaks.take_test(fact)
        if not fact.passed:
            self._fail_follow_up(fact, duty)
        elif still_open:
            duty.note(f"The test of {fact.on} passed, but not every leak did ({policy.ALL_OPEN_LEAKS}).")
        else:
            duty.meet(fact.on, fact.event, f"Passed on {fact.on}.")
            self.is_closed = self._completion is None or not self._completion.is_pending

    def extend(self, fact: Fact) -> bool:
        """Gives the longer days of 95386 where what was recorded in time justifies them; says whether it did."""
        if self.is_elected or self._clock.due_on is None or self._clock.is_past(fact.on):
            return False
        if fact.kind is FactKind.EXTENSION and fact.obligation != ObligationKind.REPAIR:
            return False
        row = self._longer(fact)
        if row is None:
            return False
        self._docket.had_effect(fact)
        self._clock.extensions.setdefault(row.key, Extension(after(self._detected.on, row)))
        for duty in (self.repair, self._initial):
            words = f"{reckoned(self._detected.on, row)}; due {self._clock.due_on}"
            duty.note(f"With what was recorded on {fact.on}, {words}.")
            duty.rest_on(row)
        return True

    def elect(self, fact: Fact) -> None:
        """Retrofit or retirement is chosen, or planned: repairing is no longer what is owed."""
        self._docket.had_effect(fact)
        if self._plan is None:
            self._require_plan(fact.on, fact.event, f"Retrofit or retirement was elected on {fact.on}")
        if (
            fact.kind is FactKind.RETROFIT_OR_RETIREMENT_PLAN
            and self._plan is not None
            and self._plan.is_pending
        ):
            self._plan.meet(fact.on, fact.event, f"The plan is dated {fact.on}.")
        self.is_elected = True
        self._cancel_repair(f"Cancelled on {fact.on}: {policy.PLAN_IS_ELECTION}.")

    def complete(self, fact: Fact) -> None:
        """The system is retrofitted or retired."""
        done = f"The appliance was {fact.kind.value} on {fact.on}."
        if self._completion is not None and self._completion.is_pending:
            self._completion.meet(fact.on, fact.event, done)
        self.cancel(done)

    def cancel(self, sentence: str) -> None:
        """Ends the case: what is still owed is no longer so."""
        self._cancel_repair(sentence)
        for duty in (self._plan, self._completion):
            if duty is not None and duty.is_pending:
                duty.cancel(sentence)
        self.is_closed = True

    def _longer(self, fact: Fact) -> Row | None:
        """The longer days that a fact justifies; a shutdown that is stated by itself counts like the ground."""
        is_statement = fact.kind is FactKind.INDUSTRIAL_PROCESS_SHUTDOWN_REQUIRED
        ground = CALIFORNIA_SHUTDOWN if is_statement else fact.basis
        key = _LONGER.get(ground or "")
        if key is None or (ground in _OF_PROCESSES and not self._is_process):
            return None
        return self._docket.row(key, self._detected.on)

    def _open(
        self,
        kind: ObligationKind,
        row: Row,
        fact: Fact,
        clock: Clock,
        because: str,
        *,
        rests_on: Sequence[Ground] = (),
    ) -> Duty:
        return self._docket.open(kind, row, fact.on, clock, because, fact.event, rests_on=rests_on)

    def _start_follow_up(self, fact: Fact) -> None:
        row = self._docket.row("follow_up_verification_test", fact.on)
        words = f"{reckoned(fact.on, row)}."
        if self._follow_up is None or not self._follow_up.is_pending:
            because = f"The initial verification test passed on {fact.on}: {words}"
            kind = ObligationKind.FOLLOW_UP_VERIFICATION_TEST
            self._follow_up = self._open(kind, row, fact, Clock(after(fact.on, row)), because)
        else:
            self._follow_up.clock.start(after(fact.on, row), fact.on)
            self._follow_up.note(words)

    def _fail_initial(self, fact: Fact) -> None:
        sentence = f"The initial test of {fact.on} failed; {policy.FAILED_TEST_REOPENS}."
        if self._initial.is_pending:
            self._initial.fail(sentence)
        elif self._follow_up is not None and self._follow_up.is_pending:
            self._follow_up.cancel(sentence)
        row = self._docket.row("initial_verification_test", fact.on)
        days = self._docket.row("repair", self._detected.on)
        because = f"{sentence} {reckoned(self._detected.on, days)}; due {self._clock.due_on} as things stand."
        kind = ObligationKind.INITIAL_VERIFICATION_TEST
        self._initial = self._open(kind, row, fact, self._clock, because, rests_on=self._initial.rests_on)
        self._reopen(fact, sentence)

    def _fail_follow_up(self, fact: Fact, duty: Duty) -> None:
        sentence = f"The follow-up test of {fact.on} failed; {policy.FAILED_TEST_REOPENS}."
        duty.fail(sentence)
        row = self._docket.row("follow_up_verification_test", fact.on)
        because = f"{sentence} Due {row.in_words} after the next passed initial test."
        kind = ObligationKind.FOLLOW_UP_VERIFICATION_TEST
        self._follow_up = self._open(kind, row, fact, Clock(None), because)
        self._reopen(fact, sentence)
        self._initial.reopen(sentence)

    def _reopen(self, fact: Fact, sentence: str) -> None:
        self.repair.reopen(sentence)
        self._reopened_on = fact.on

    def _require_plan(self, opened_on: date, event: str | None, trigger: str) -> None:
        """Opens the plan and its execution, both reckoned from the detection of the leak (95387)."""
        rests_on = self.repair.rests_on
        detected_on = self._detected.on
        row = self._docket.row("retrofit_or_retirement_plan", detected_on)
        due_on = max(after(detected_on, row), opened_on)
        because = f"{trigger}. {reckoned(detected_on, row)}; {policy.NOT_BEFORE_ITS_TRIGGER}: due {due_on}."
        kind = ObligationKind.RETROFIT_OR_RETIREMENT_PLAN
        self._plan = self._docket.open(kind, row, opened_on, Clock(due_on), because, event, rests_on=rests_on)
        row = self._docket.row("retrofit_or_retirement", detected_on)
        because = f"{trigger}. Counted from the detection of the leak: {reckoned(detected_on, row)}."
        kind, clock = ObligationKind.RETROFIT_OR_RETIREMENT, Clock(after(detected_on, row))
        self._completion = self._docket.open(kind, row, opened_on, clock, because, event, rests_on=rests_on)

    def _spare_plan(self, fact: Fact) -> None:
        """A leak repaired late, and tested, ends what its lateness asked for, unless that was chosen."""
        if self.is_elected or self._plan is None:
            return
        for duty in (self._plan, self._completion):
            if duty is not None and duty.is_pending:
                duty.cancel(f"Repaired, and the test passed on {fact.on}: {policy.LATE_REPAIR_ENDS_PLAN}.")
        self._plan = self._completion = None

    def _cancel_repair(self, sentence: str) -> None:
        for duty in (self.repair, self._initial, self._follow_up):
            if duty is not None and duty.is_pending:
                duty.cancel(sentence)
