"""One case of an exceeded leak rate: repair, initial and follow-up verification test (82.157 and 84.106 (d) to (f))."""

from datetime import date, timedelta

from compliance.rulebook import policy
from compliance.rulebook.duties import Clock, Duty
from compliance.rulebook.facts import Category, Fact
from compliance.rulebook.jurisdictions.docket import Docket, after, reckoned
from compliance.rulebook.jurisdictions.us_federal.extensions import ExtensionRequest, ExtensionTerms
from compliance.rulebook.open_leaks import OpenLeaks
from compliance.rulebook.results import LeakRate, ObligationKind


class RepairCycle:
    """Opens with an addition over the threshold; closes with a passed follow-up test of all leaks, or a plan.

    ``has_acted`` says that work was done about the leak; ``plan_clock`` and ``request_clock`` run from the same day,
    should a plan become due.
    """

    def __init__(self, docket: Docket, rate: LeakRate) -> None:
        self._docket = docket
        self.opened_on = rate.on
        self.rate = rate
        self.event = rate.event
        self.is_closed = False
        self.has_acted = False
        self.last_repair_on: date | None = None
        self.needs_shutdown = False
        self._extension_requests: list[ExtensionRequest] = []
        self._is_evacuated = False
        self._normal_operation_on: date | None = None
        self._leaks = OpenLeaks(known={rate.leak} if rate.leak else set())
        self._repair_clock = self._new_clock("repair")
        self._initial_clock = self._new_clock("initial_verification_test")
        self.plan_clock = self._new_clock("retrofit_or_retirement_plan")
        self.request_clock = self._new_clock("plan_extension_request")
        self.repair = self._open(ObligationKind.REPAIR, self._repair_clock)
        self.initial = self._open(ObligationKind.INITIAL_VERIFICATION_TEST, self._initial_clock)
        self.follow_up: Duty | None = None

    @property
    def _duties(self) -> list[Duty]:
        """The rows that stand for the case now; those a failed test left behind are closed."""
        return [duty for duty in (self.repair, self.initial, self.follow_up) if duty is not None]

    @property
    def over(self) -> str:
        return f"The leak rate of {self.rate.on} was {self.rate.percent_rounded} %, over {self.rate.threshold_pct} %."

    def has_lapsed(self, on: date) -> bool:
        """Whether the days for repair were over before ``on`` with nothing done."""
        return (
            not self.is_closed
            and not self.has_acted
            and all(request.is_granted is False for request in self._extension_requests)
            and self.repair.is_pending
            and self._repair_clock.is_past(on)
        )

    def note_later_excess(self, rate: LeakRate) -> None:
        self.repair.note(f"Over again on {rate.on}: {policy.LATER_EXCESS_MOVES_NOTHING}.")

    def take_addition(self, fact: Fact) -> None:
        """Notes a named leak, and warns where refrigerant went in between the repair and its initial test."""
        self._leaks.note(fact)
        if self.last_repair_on is not None and not self.repair.is_pending and self.initial.is_pending:
            self._docket.warn(
                f"Refrigerant was added on {fact.on} after the repair of {self.last_repair_on} and before a passed "
                f"initial verification test, which comes first ({self.initial.citation})."
            )

    def take_inspection(self, fact: Fact) -> None:
        self.has_acted = True
        self.repair.note(f"Inspected for leaks on {fact.on}.")

    def take_repair(self, fact: Fact) -> None:
        self.has_acted = True
        self.last_repair_on = fact.on
        self._leaks.note(fact)
        if fact.is_evacuated:
            self._is_evacuated = True
            self._normal_operation_on = None
        sentence = f"Repaired on {fact.on}."
        if fact.leak is not None:
            sentence = f"Leak {fact.leak} repaired on {fact.on}."
            if self._leaks.without_repair:
                sentence += f" No repair on record yet: {', '.join(self._leaks.without_repair)}."
        if self.repair.is_pending:
            self.repair.meet(fact.on, fact.event, sentence)
        elif fact.leak is not None:
            self.repair.note(sentence)

    def take_initial_test(self, fact: Fact) -> None:
        self.has_acted = True
        still_open = self._leaks.take_test(fact)
        if not fact.passed:
            self._fail_initial(fact)
        elif still_open:
            self.initial.note(_partly_passed(fact, still_open))
        else:
            if self.repair.is_pending:
                self._docket.warn(
                    f"The initial verification test of {fact.on} passed without a repair on record before it."
                )
            if self.initial.is_pending:
                self.initial.meet(fact.on, fact.event, f"Passed on {fact.on}.")
            self._start_follow_up(fact)

    def take_normal_operation(self, fact: Fact) -> None:
        self._normal_operation_on = fact.on
        if self.follow_up is not None and self.follow_up.is_pending and not self.initial.is_pending:
            self._set_follow_up_date(self.follow_up, fact.on)

    def take_follow_up_test(self, fact: Fact) -> bool:
        """Returns whether the test showed every leak repaired."""
        self.has_acted = True
        still_open = self._leaks.take_test(fact)
        if self.follow_up is None or not self.follow_up.is_pending or self.initial.is_pending:
            self._docket.warn(
                f"The follow-up verification test of {fact.on} comes without a passed initial test before it; "
                "it closes nothing."
            )
            return not still_open
        if not fact.passed:
            self._fail_follow_up(fact, self.follow_up)
        elif still_open:
            self.follow_up.note(_partly_passed(fact, still_open))
        else:
            self.follow_up.meet(fact.on, fact.event, f"Passed on {fact.on}.")
            self.is_closed = True
        return not still_open

    def take_shutdown(self, fact: Fact) -> None:
        """Gives the longer time of an industrial process shutdown, once."""
        category = self._docket.timeline.appliance.category
        if category is not Category.INDUSTRIAL_PROCESS_REFRIGERATION or self.needs_shutdown:
            return
        self.initial.rest_on(*self.repair.rests_on)  # whose date says whether the shutdown was known in time
        if self._repair_clock.is_past(fact.on):
            self._docket.warn(
                f"The industrial process shutdown recorded on {fact.on} is after the due date: "
                f"{policy.SHUTDOWN_BEFORE_DUE}."
            )
            return
        self.needs_shutdown = True
        for duty, key in ((self.repair, "repair"), (self.initial, "initial_verification_test")):
            ordinary = self._docket.row(key, self.opened_on)
            longer = self._docket.row(f"{key}_with_shutdown", self.opened_on)
            if duty.clock.base_on is not None:
                duty.clock.base_on += timedelta(days=longer.count - ordinary.count)
            duty.note(f"An industrial process shutdown is required: {reckoned(self.opened_on, longer)}.")
            duty.rest_on(longer)
        terms = self._extension_terms
        for duty in self._duties:
            extension = duty.clock.extensions.get("parts")
            if extension is not None:
                terms.raise_cap(extension)
            if extension is not None and extension.standing is not None:
                cap = f"{self.opened_on} + {terms.cap.in_words}"
                duty.rest_on(terms.cap)
                duty.note(f"The extension for parts may run to {cap} with it; due {duty.clock.nominal_on}.")

    def extend(self, fact: Fact) -> None:
        """Puts the due date of the named test or of the repair (and its initial test) later (82.157 and 84.106 (f))."""
        targets = self._extended_clocks(fact.obligation)
        clock = targets[0] if targets else None
        if clock is None or clock.nominal_on is None:
            self._docket.had_none(fact, "concerns nothing that has a due date")
            return
        self._docket.had_effect(fact)
        concerned = [duty for duty in self._duties if any(duty.clock is target for target in targets)]
        for duty in concerned:
            duty.rest_on(*self.repair.rests_on)  # whose date says whether the extension came in time
        if clock.is_past(fact.on):
            self._docket.warn(
                f"The extension of {fact.on} is refused, as the due date was {clock.due_on}: "
                f"{policy.EXTENSION_BEFORE_DUE}."
            )
            return
        terms = self._extension_terms
        request = ExtensionRequest(fact, [(target, terms.extension(fact)) for target in targets])
        self._extension_requests.append(request)
        for target, extension in request.given:
            target.extend(fact.basis or "", extension)
        for duty in concerned:
            due = f"due {duty.clock.nominal_on}"
            duty.note(f"Extension filed on {fact.on}: {terms.in_words(fact)}; {due}.")
            duty.rest_on(*terms.rests_on(fact))

    def awaits_answer_to(self, fact: Fact) -> bool:
        """Whether this extension was asked for and the agency hasn't answered."""
        return any(
            request.fact is fact and request.is_granted is None for request in self._extension_requests
        )

    def answer(self, asked: Fact, answer: Fact) -> None:
        """Takes the agency's answer to an extension (82.157 and 84.106 (f)(4))."""
        self._docket.had_effect(answer)
        for request in self._extension_requests:
            if request.fact is not asked:
                continue
            request.answer(is_granted=bool(answer.granted))
            for duty in self._duties:
                if request.concerns(duty.clock) and duty.is_pending:
                    duty.note(_answered(asked, answer, duty.clock.nominal_on))

    def cancel(self, sentence: str) -> None:
        """Ends the case: what is still owed is no longer so."""
        self.is_closed = True
        for duty in self._duties:
            if duty.is_pending:
                duty.cancel(sentence)

    def _new_clock(self, key: str) -> Clock:
        return self._docket.clock(
            after(self.opened_on, self._docket.row(key, self.opened_on)), self.opened_on
        )

    def _open(self, kind: ObligationKind, clock: Clock) -> Duty:
        row = self._docket.row(kind.value, self.opened_on)
        because = f"{self.over} {reckoned(self.opened_on, row)}. {policy.CALENDAR_DAYS.sentence}."
        # The days for repair decide when a plan is required, and with it whether the test is still owed.
        rests_on = [*self.rate.rests_on, self._docket.row("repair", self.opened_on)]
        return self._docket.open(kind, row, self.opened_on, clock, because, self.event, rests_on=rests_on)

    def _fail_initial(self, fact: Fact) -> None:
        sentence = f"The initial test of {fact.on} failed; {policy.FAILED_TEST_REOPENS}."
        if self.initial.is_pending:
            self.initial.fail(sentence)
        elif self.follow_up is not None and self.follow_up.is_pending:
            self.follow_up.cancel(sentence)
        row = self._docket.row("initial_verification_test", fact.on)
        self.initial = self._docket.open(
            ObligationKind.INITIAL_VERIFICATION_TEST,
            row,
            fact.on,
            self._initial_clock,
            f"{self.over} {sentence} That is {self._initial_clock.nominal_on}.",
            fact.event,
            rests_on=self.initial.rests_on,
        )
        self._reopen_repair(sentence)

    def _fail_follow_up(self, fact: Fact, duty: Duty) -> None:
        sentence = f"The follow-up test of {fact.on} failed; {policy.FAILED_TEST_REOPENS}."
        duty.fail(sentence)
        row = self._docket.row("follow_up_verification_test", fact.on)
        self.follow_up = self._docket.open(
            ObligationKind.FOLLOW_UP_VERIFICATION_TEST,
            row,
            fact.on,
            self._docket.clock(None, fact.on),
            f"{sentence} Due {row.in_words} after the next passed initial test.",
            fact.event,
            rests_on=self.repair.rests_on,
        )
        self._reopen_repair(sentence)
        self.initial.reopen(sentence)

    def _reopen_repair(self, sentence: str) -> None:
        self.repair.reopen(sentence)
        self._is_evacuated = False
        self._normal_operation_on = None

    def _start_follow_up(self, fact: Fact) -> None:
        """Opens the follow-up test on the day of the passed initial test, or dates one that was waiting for it."""
        if self.follow_up is None or not self.follow_up.is_pending:
            row = self._docket.row("follow_up_verification_test", fact.on)
            clock = self._docket.clock(None, fact.on)
            because = f"The initial verification test passed on {fact.on}."
            kind = ObligationKind.FOLLOW_UP_VERIFICATION_TEST
            self.follow_up = self._docket.open(
                kind, row, fact.on, clock, because, fact.event, rests_on=self.repair.rests_on
            )
        self._set_follow_up_date(self.follow_up, fact.on)

    def _set_follow_up_date(self, duty: Duty, on: date) -> None:
        if duty.clock.base_on is not None:
            return
        row = self._docket.row("follow_up_verification_test", on)
        if not self._is_evacuated:
            duty.clock.start(after(on, row), on)
            duty.note(f"{reckoned(on, row)}.")
        elif self._normal_operation_on is None:
            duty.note(
                f"Due {row.in_words} after the return to normal operation, which isn't on record: "
                f"{policy.FOLLOW_UP_AFTER_EVACUATION}."
            )
        else:
            duty.clock.start(after(self._normal_operation_on, row), on)
            duty.note(
                f"In normal operation on {self._normal_operation_on}: {reckoned(self._normal_operation_on, row)} "
                f"({policy.FOLLOW_UP_AFTER_EVACUATION})."
            )

    def _extended_clocks(self, obligation: str | None) -> list[Clock]:
        if obligation == "repair":
            return [self._repair_clock, self._initial_clock]
        if obligation == "initial_verification_test":
            return [self._initial_clock]
        return [self.follow_up.clock] if self.follow_up is not None and self.follow_up.is_pending else []

    @property
    def _extension_terms(self) -> ExtensionTerms:
        return ExtensionTerms(self._docket, self.opened_on, self.needs_shutdown, self._days_held_up)

    @property
    def _days_held_up(self) -> int:
        """The days by which mothballing has put this case's dates later."""
        row = self._docket.row("repair_with_shutdown" if self.needs_shutdown else "repair", self.opened_on)
        base_on = self._repair_clock.base_on
        return 0 if base_on is None else (base_on - after(self.opened_on, row)).days


def _answered(asked: Fact, answer: Fact, due_on: date | None) -> str:
    if answer.granted:
        return f"The agency granted the extension of {asked.on} on {answer.on}."
    refused = f"The agency refused the extension of {asked.on} on {answer.on}"
    return f"{refused}; due {due_on} ({policy.REFUSAL_ENDS_EXTENSION})."


def _partly_passed(fact: Fact, still_open: tuple[str, ...]) -> str:
    named = ", ".join(leak for leak in still_open if leak)
    what = f"still open: {named}" if named else "it did not show every identified leak repaired"
    return f"The test of {fact.on} passed, {what} ({policy.ALL_OPEN_LEAKS})."
