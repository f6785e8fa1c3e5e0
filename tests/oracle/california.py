"""California's duties counted a second time: inspections, leaks, detection, annual reports (17 CCR 95381 to 95389)."""

from dataclasses import dataclass
from datetime import date, timedelta
from fractions import Fraction

from tests.oracle.elsewhere import BEGINS, CALIFORNIA, OZONE_DEPLETING, POUND_MG, Duties, potential
from tests.oracle.records import Fact, Json, State, Unsettled, charges, months_later
from tests.oracle.yearly import due_row

REFRIGERATION = {"commercial_refrigeration", "industrial_process_refrigeration", "other"}
PLAN, WORK = "retrofit_or_retirement_plan", "retrofit_or_retirement"
INITIAL, FOLLOW_UP = "initial_verification_test", "follow_up_verification_test"


def pounds(state: State, bound: int) -> bool:
    """Whether a full charge reaches so many pounds, within a milligram."""
    return state.full_charge_mg + 1 >= bound * POUND_MG


class Californian(Duties):
    """The same days under California's program, which knows inspections by size and a course for each leak."""

    def __init__(self, request: Json) -> None:
        super().__init__(request, CALIFORNIA)

    def is_covered(self, state: State) -> bool:
        is_potent = state.refrigerant in OZONE_DEPLETING or potential(CALIFORNIA, state.refrigerant) >= 150
        is_large = state.full_charge_mg - 1 > 50 * POUND_MG
        return self.appliance["category"] in REFRIGERATION and is_potent and is_large

    def write(self) -> None:
        self._inspections()
        self._inspections_at_additions()
        self._inspections_at_start_ups()
        self._detection_where_large()
        self._leaks()
        self._annual_reports()
        self.calibrations()
        self.retention()

    # --- inspections --------------------------------------------------------------------------

    def _inspections(self) -> None:
        start = self.chain_start()
        since = None if start is None else max(start, BEGINS[CALIFORNIA])
        while (
            since is not None and since <= self.as_of and (self.retired_on is None or since < self.retired_on)
        ):
            state = self.state_on(since)
            months = 12
            if pounds(state, 200):
                months = 1 if pounds(state, 2000) and self.appliance.get("enclosed") else 3
            due_on = months_later(since, months)
            done = self.first(self.days("leak_inspection"), since)
            if self._is_waived(due_on) and not (self.retired_on is not None and due_on > self.retired_on):
                # Detection stands in for it unless it was inspected by then; the next one counts from whichever it was.
                done = done if done is not None and done <= due_on else None
                row = due_row("leak_inspection", since, due_on, done, self.as_of)
                if done is None:
                    row["status"] = "cancelled"
                self.rows.append(row)
                since = done or due_on
                continue
            self.row("leak_inspection", since, due_on, done)
            ended = self.retired_on is not None and due_on > self.retired_on
            since = done if not ended or (done is not None and done <= self.retired_on) else None

    def _is_waived(self, due_on: date) -> bool:
        if pounds(self.state_on(due_on), 2000) and not self.appliance.get("enclosed"):
            return False
        installed = self.days("automatic_leak_detection")
        fresh = [*installed, *self.days("leak_detection_calibration")]
        is_fresh = any(day <= due_on <= months_later(day, 12) for day in fresh)
        return is_fresh and any(day <= due_on for day in installed)

    def _inspections_at_additions(self) -> None:
        """At each event that added 5 lb or 1 % of the charge, the greater; due and done with the visit."""
        inspected = self.days("leak_inspection")
        for charge in charges(self.facts):
            if not charge.is_service or charge.on < BEGINS[CALIFORNIA]:
                continue
            if self.retired_on is not None and charge.on >= self.retired_on:
                continue
            full = self.states[charge.order].full_charge_mg
            bound = max(5 * POUND_MG, Fraction(full, 100))
            net = max(0, charge.net_mg) + charge.purged_mg
            few, many = charge.additions, charge.additions + charge.other_entries
            if (net + few >= bound) != (net + many >= bound):
                raise Unsettled("whether removals are entries")
            if net + few >= bound:
                done = self.first(inspected, charge.on - timedelta(days=1))
                self.row("leak_inspection", charge.on, charge.on, done)

    def _inspections_at_start_ups(self) -> None:
        is_shut_down = False
        for fact in self.facts:
            if fact.kind == "mothballed":
                is_shut_down = True
            elif fact.kind == "returned_to_service" and is_shut_down:
                is_shut_down = False
                if fact.on < BEGINS[CALIFORNIA] or (
                    self.retired_on is not None and fact.on >= self.retired_on
                ):
                    continue
                done = self.first(self.days("leak_inspection"), fact.on - timedelta(days=1))
                self.row("leak_inspection", fact.on, fact.on + timedelta(days=30), done)

    # --- detection and reports ----------------------------------------------------------------

    def _detection_where_large(self) -> None:
        installed_on = self.appliance.get("installed_on")
        if installed_on is None or self.retired_on is not None or not self.appliance.get("enclosed"):
            return
        day = date.fromisoformat(installed_on)
        if pounds(self.states[-1], 2000) and day <= self.as_of:
            done = next(iter(self.days("automatic_leak_detection")), None)
            due_on = max(day, date(2012, 1, 1))
            self.rows.append(due_row("automatic_leak_detection", day, due_on, done, self.as_of))

    def _annual_reports(self) -> None:
        """For each calendar year with records, if the system had 200 lb or more at its end."""
        if not self.facts:
            return
        filed = [(fact.detail["year"], fact.on) for fact in self.facts if fact.kind == "annual_report_filed"]
        for year in range(self.facts[0].on.year, self.as_of.year):
            if self.retired_on is not None and self.retired_on <= date(year, 1, 1):
                return
            if pounds(self.state_on(date(year, 12, 31)), 200):
                done = next((on for about, on in filed if about == year), None)
                due_on = date(year + 1, 3, 1)
                self.rows.append(due_row("annual_report", date(year + 1, 1, 1), due_on, done, self.as_of))

    # --- leaks --------------------------------------------------------------------------------

    def _leaks(self) -> None:
        """Day after day: what is found, repaired, tested, put off, given up, and what falls due meanwhile."""
        leaks: list[_Leak] = []
        end = self.as_of if self.retired_on is None else min(self.as_of, self.retired_on)
        day = self.facts[0].on if self.facts else end
        while day <= end:
            for leak in leaks:
                leak.start_of(day)
            for fact in self.facts:
                if fact.on == day:
                    self._take(fact, leaks)
            day += timedelta(days=1)
        for leak in leaks:
            if self.retired_on is not None:
                leak.give_up()
            self.rows += leak.rows(self.as_of)

    def _take(self, fact: Fact, leaks: list["_Leak"]) -> None:
        if fact in list(self.detections()) and fact.kind != "repair":
            self._find(fact, leaks)
            return
        if fact.kind in {"extension", "industrial_process_shutdown_required"}:
            is_shutdown = fact.kind != "extension"
            for leak in leaks:
                leak.put_off(fact, is_shutdown=is_shutdown, category=self.appliance["category"])
            return
        for leak in leaks:
            leak.take(fact)

    def _find(self, fact: Fact, leaks: list["_Leak"]) -> None:
        if fact.on < BEGINS[CALIFORNIA] or (self.retired_on is not None and fact.on >= self.retired_on):
            return
        live = [leak for leak in leaks if not leak.is_closed]
        if any(leak.is_owed or leak.is_given_up for leak in live):
            for leak in live:
                leak.name(fact)
            return
        if fact.kind == "addition" and any(leak.worked_on == fact.on for leak in live):
            return
        leak = _Leak(fact)
        leaks.append(leak)
        for reason in self.facts:
            if reason.on == fact.on and reason.kind in {"extension", "industrial_process_shutdown_required"}:
                is_shutdown = reason.kind != "extension"
                leak.put_off(reason, is_shutdown=is_shutdown, category=self.appliance["category"])


@dataclass
class _Owed:
    """One row in the making; without an end it is open."""

    kind: str
    opened_on: date
    due_on: date | None
    met_on: date | None = None
    ending: str | None = None

    @property
    def is_open(self) -> bool:
        return self.met_on is None and self.ending is None


class _Leak:
    """One detected leak and all that it asked for."""

    def __init__(self, found: Fact) -> None:
        self.found_on = found.on
        self.due_on = found.on + timedelta(days=14)
        self.repair = _Owed("repair", found.on, None)
        self.initial = _Owed(INITIAL, found.on, None)
        self.follow_up: _Owed | None = None
        self.plan: _Owed | None = None
        self.work: _Owed | None = None
        self.history = [self.repair, self.initial]
        self.names = {found.detail["leak"]} if "leak" in found.detail else set()
        self.passed: dict[str, set[str]] = {INITIAL: set(), FOLLOW_UP: set()}
        self.worked_on: date | None = None
        self.reopened_on: date | None = None
        self.is_given_up = self.is_closed = False

    @property
    def is_owed(self) -> bool:
        return self.repair.is_open

    def name(self, fact: Fact) -> None:
        if "leak" in fact.detail and self.is_owed:
            self.names.add(fact.detail["leak"])

    def start_of(self, day: date) -> None:
        """The morning after the time for repair ran out, or after it was reopened too late, asks for a plan."""
        if not self.is_closed and self.plan is None and self.is_owed and self.due_on < day:
            self._ask_for_plan(max(self.due_on + timedelta(days=1), self.reopened_on or self.found_on))

    def _ask_for_plan(self, on: date) -> None:
        self.plan = _Owed(PLAN, on, max(self.found_on + timedelta(days=60), on))
        self.work = _Owed(WORK, on, months_later(self.found_on, 6))
        self.history += [self.plan, self.work]

    def put_off(self, fact: Fact, *, is_shutdown: bool, category: str) -> None:
        """The longer days of 95386, from memory but for their number: 45 or 120 from the day it was found."""
        if self.is_closed or self.is_given_up or self.due_on < fact.on:
            return
        if not is_shutdown and fact.detail["obligation"] != "repair":
            return
        ground = "california_shutdown" if is_shutdown else fact.detail["basis"]
        days = {"parts": 45, "california_parts": 45, "california_technician": 45}
        if category == "industrial_process_refrigeration":
            days |= {"california_shutdown": 45, "california_reporting_process": 120}
        self.due_on = max(self.due_on, self.found_on + timedelta(days=days.get(ground, 14)))

    def take(self, fact: Fact) -> None:
        if self.is_closed:
            return
        is_work = fact.kind in {"repair", INITIAL, FOLLOW_UP}
        if is_work and self.is_given_up:
            return
        if fact.kind == "repair":
            self._repair(fact)
        elif fact.kind == INITIAL and not self.is_owed:
            self._test_at_once(fact)
        elif fact.kind == FOLLOW_UP and self.follow_up is not None:
            if self.follow_up.is_open and not self.initial.is_open:
                self._test_later(fact)
        elif fact.kind in {"retrofit_or_retirement_elected", PLAN}:
            self._choose_plan(fact)
        elif fact.kind in {"retrofitted", "retired"}:
            if self.work is not None and self.work.is_open:
                self._meet(self.work, fact.on)
            self.give_up()

    def give_up(self) -> None:
        for row in self.history:
            if row.is_open:
                row.ending = "cancelled"
        self.is_closed = True

    def _meet(self, row: _Owed, on: date) -> None:
        row.met_on = on
        if row in (self.repair, self.initial):
            row.due_on = self.due_on

    def _repair(self, fact: Fact) -> None:
        self.worked_on = fact.on
        if "leak" in fact.detail:
            self.names.add(fact.detail["leak"])
            for passed in self.passed.values():
                passed.discard(fact.detail["leak"])
        if self.is_owed:
            self._meet(self.repair, fact.on)

    def _is_passed(self, fact: Fact) -> bool:
        """Whether, with this passed test, every named leak has passed the tests of its kind."""
        named = fact.detail.get("leak")
        if named is not None:
            self.names.add(named)
        self.passed[fact.kind] |= {named} if named is not None else self.names
        return self.names <= self.passed[fact.kind]

    def _forget(self, fact: Fact) -> None:
        named = fact.detail.get("leak")
        if named is not None:
            self.names.add(named)
        for passed in self.passed.values():
            passed.difference_update([named] if named is not None else list(self.names))

    def _reopen(self, on: date) -> None:
        self.repair.met_on = self.repair.due_on = None
        self.reopened_on = on

    def _test_at_once(self, fact: Fact) -> None:
        self.worked_on = fact.on
        if not fact.detail["passed"]:
            self._forget(fact)
            if self.initial.is_open:
                self.initial.ending, self.initial.due_on = "failed", self.due_on
            elif self.follow_up is not None and self.follow_up.is_open:
                self.follow_up.ending = "cancelled"
            self.initial = _Owed(INITIAL, fact.on, None)
            self.history.append(self.initial)
            self._reopen(fact.on)
        elif self._is_passed(fact) and self.initial.is_open:
            self._meet(self.initial, fact.on)
            if self.follow_up is None or not self.follow_up.is_open:
                self.follow_up = _Owed(FOLLOW_UP, fact.on, None)
                self.history.append(self.follow_up)
            self.follow_up.due_on = fact.on + timedelta(days=30)
            if not self.is_given_up and self.plan is not None and self.work is not None:
                for row in (self.plan, self.work):
                    row.ending = "cancelled" if row.is_open else row.ending
                self.plan = self.work = None

    def _test_later(self, fact: Fact) -> None:
        if not fact.detail["passed"]:
            self._forget(fact)
            self.follow_up.ending = "failed"
            self.follow_up = _Owed(FOLLOW_UP, fact.on, None)
            self.history.append(self.follow_up)
            self._reopen(fact.on)
            self.initial.met_on = self.initial.due_on = None
        elif self._is_passed(fact) and fact.detail.get("all_leaks", True):
            self.follow_up.met_on = fact.on
            self.is_closed = self.work is None or not self.work.is_open

    def _choose_plan(self, fact: Fact) -> None:
        if self.plan is None:
            self._ask_for_plan(fact.on)
        if fact.kind == PLAN and self.plan.is_open:
            self.plan.met_on = fact.on
        self.is_given_up = True
        for row in (self.repair, self.initial, self.follow_up):
            if row is not None and row.is_open:
                row.ending = "cancelled"

    def rows(self, as_of: date) -> list[Json]:
        found = []
        for row in self.history:
            due_on = self.due_on if row.due_on is None and row.kind in {"repair", INITIAL} else row.due_on
            shown = due_row(row.kind, row.opened_on, due_on, row.met_on, as_of)
            if row.ending is not None:
                shown.update(status=row.ending, met_on=None)
                if row.ending == "cancelled":
                    shown["due_on"] = "any"
            found.append(shown)
        return found
