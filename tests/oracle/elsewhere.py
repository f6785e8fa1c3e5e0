"""European, British and Californian duties of one appliance, counted a second time from the laws' own words.

Sources: Regulation (EU) 2024/573 Art. 4(5), 5, 6, 7; Regulations (EU) No 517/2014 and (EC) No 1005/2009 as retained in
Great Britain; 17 CCR 95381 to 95389 (parts of it from memory). Where the documented choices don't say what holds,
`Unsettled` is raised and nothing is demanded.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from fractions import Fraction

from tests.oracle.records import (
    Fact,
    Json,
    State,
    Unsettled,
    milligrams,
    months_later,
    read_facts,
    states,
)
from tests.oracle.yearly import due_row

EU, UK, CALIFORNIA = "eu", "uk", "us-california"
BEGINS = {EU: date(2024, 3, 11), UK: date(2015, 1, 1), CALIFORNIA: date(2011, 1, 1)}
POUND_MG = Fraction(45_359_237, 100)
KILOGRAM_MG = Fraction(1_000_000)

# Mass percent, and the potentials of the fourth assessment report of the IPCC (2007), table 2.14.
COMPOSITION = {
    "R-22": {"R-22": 100},
    "R-12": {"R-12": 100},
    "R-401A": {"R-22": 53, "R-152a": 13, "R-124": 34},
    "R-402A": {"R-125": 60, "R-290": 2, "R-22": 38},
    "R-410A": {"R-32": 50, "R-125": 50},
    "R-404A": {"R-125": 44, "R-143a": 52, "R-134a": 4},
    "R-454B": {"R-32": Fraction("68.9"), "R-1234yf": Fraction("31.1")},
    "R-744": {"R-744": 100},
}
OZONE_DEPLETING = {"R-22", "R-12", "R-401A", "R-402A"}
POTENTIAL = {"R-32": 675, "R-125": 3500, "R-134a": 1430, "R-143a": 4470, "R-744": 1}
# Regulation (EU) 2024/573 Annex II section 1 (sixth report); No 517/2014 Annex II (from memory); 40 CFR 84.64.
OF_R_1234YF = {EU: Fraction("0.501"), UK: Fraction(4), CALIFORNIA: Fraction(1)}
# Months between checks without and with leak detection, for the bands from the lowest up.
INTERVALS = ((12, 24), (6, 12), (3, 6))
BANDS_T, BANDS_ANNEX_II_KG, BANDS_ODS_KG = (5, 50, 500), (1, 10, 100), (3, 30, 300)


@dataclass(frozen=True)
class Amount:
    """How much of what the bands count: tonnes, or kilograms; within one milligram of charge."""

    value: Fraction
    one_mg: Fraction
    bands: tuple[int, int, int]
    exempt_below: int
    is_longer_with_detection: bool = True

    def reaches(self, bound: int) -> bool:
        return self.value + self.one_mg >= bound


def potential(rule: str, refrigerant: str) -> Fraction:
    of = {**POTENTIAL, "R-1234yf": OF_R_1234YF[rule]}
    return sum(
        (Fraction(pct) / 100 * of[part] for part, pct in COMPOSITION[refrigerant].items()), Fraction(0)
    )


def amounts(rule: str, state: State) -> list[Amount]:
    """What a charge comes to under European or British law; nothing where none of it counts."""
    kilogram = 1 / KILOGRAM_MG
    if state.refrigerant in OZONE_DEPLETING:
        if rule == EU:
            return []
        return [Amount(state.full_charge_mg * kilogram, kilogram, BANDS_ODS_KG, 6, False)]
    if state.refrigerant == "R-744":
        return []
    tonne = potential(rule, state.refrigerant) * kilogram / 1000
    found = [Amount(state.full_charge_mg * tonne, tonne, BANDS_T, 10)]
    annex_ii = Fraction(COMPOSITION[state.refrigerant].get("R-1234yf", 0)) / 100
    if rule == EU and annex_ii:
        found.append(Amount(state.full_charge_mg * annex_ii * kilogram, kilogram, BANDS_ANNEX_II_KG, 2))
    return found


class Duties:
    """The days of one appliance under one of these rules; `rows` are what it must answer."""

    def __init__(self, request: Json, rule: str) -> None:
        self.request, self.rule, self.appliance = request, rule, request["appliance"]
        self.as_of = date.fromisoformat(request["as_of"])
        self.facts = read_facts(request)
        self.states = states(request, self.facts)
        self.rows: list[Json] = []
        retired = [fact.on for fact in self.facts if fact.kind == "retired"]
        self.retired_on = retired[0] if retired else None
        first = State(self.appliance["refrigerant"], milligrams(self.appliance["full_charge"]))
        reached = {self.is_covered(state) for state in (first, *self.states)}
        if len(reached) > 1:
            raise Unsettled("a change that brings the appliance under the rule or out of it")
        self.applies = reached.pop() and self.as_of >= BEGINS[rule]
        if self.applies:
            self.write()

    def is_covered(self, state: State) -> bool:
        found = amounts(self.rule, state)
        if self.appliance.get("hermetically_sealed") and all(not a.reaches(a.exempt_below) for a in found):
            return False
        return any(amount.reaches(amount.bands[0]) for amount in found)

    def write(self) -> None:
        self._checks()
        self._checks_after_repairs()
        self._repairs()
        self._detection()
        self.calibrations()
        self.retention()

    # --- what every rule of them asks ---------------------------------------------------------

    def row(self, kind: str, opened_on: date, due_on: date | None, met_on: date | None) -> None:
        """Writes a row, which ends with the retirement unless it was due or done before."""
        row = due_row(kind, opened_on, due_on, met_on, self.as_of)
        if self.retired_on is not None:
            was_owed = due_on is not None and due_on <= self.retired_on
            was_done = met_on is not None and met_on <= self.retired_on
            if not was_owed and not was_done:
                row.update(status="cancelled", met_on=None)
            elif met_on is not None and met_on > self.retired_on:
                # Due before the retirement and done after it: the choices leave it open what that makes of the row.
                raise Unsettled("something after retirement")
        self.rows.append(row)

    def days(self, kind: str) -> list[date]:
        return sorted({fact.on for fact in self.facts if fact.kind == kind})

    def first(self, days: list[date], after: date) -> date | None:
        return next((day for day in days if day > after), None)

    def state_on(self, day: date) -> State:
        orders = [fact.order for fact in self.facts if fact.on <= day]
        if orders:
            return self.states[orders[-1]]
        return State(self.appliance["refrigerant"], milligrams(self.appliance["full_charge"]))

    def chain_start(self) -> date | None:
        """The installation; without it the first inspection."""
        if self.appliance.get("installed_on"):
            return date.fromisoformat(self.appliance["installed_on"])
        return next(iter(self.days("leak_inspection")), None)

    def calibrations(self) -> None:
        installed = self.days("automatic_leak_detection")
        since = installed[0] if installed else None
        while since is not None and (self.retired_on is None or since < self.retired_on):
            done = self.first(self.days("leak_detection_calibration"), since)
            due_on = months_later(since, 12)
            if due_on >= BEGINS[self.rule]:
                self.row("leak_detection_calibration", since, due_on, done)
            since = done

    def retention(self) -> None:
        if self.facts:
            newest = self.facts[-1].on
            self.rows.append(due_row("record_retention", newest, months_later(newest, 60), None, newest))

    def detections(self) -> Iterator[Fact]:
        """Facts that make a leak known: an inspection that found one, or a service addition that names one."""
        for fact in self.facts:
            found = fact.kind == "leak_inspection" and bool(fact.detail.get("leaks_found"))
            named = (
                fact.kind == "addition"
                and "leak" in fact.detail
                and fact.detail.get("reason", "service") == "service"
            )
            if found or named or fact.kind == "repair":
                yield fact

    # --- Europe and Great Britain -------------------------------------------------------------

    def _months(self, day: date) -> int | None:
        state = self.state_on(day)
        has_detection = any(on <= day for on in self.days("automatic_leak_detection"))
        found = []
        for amount in amounts(self.rule, state):
            bands = [place for place, bound in enumerate(amount.bands) if amount.reaches(bound)]
            if bands:
                found.append(INTERVALS[bands[-1]][has_detection and amount.is_longer_with_detection])
        return min(found, default=None)

    def _checks(self) -> None:
        since = self.chain_start()
        inspected = self.days("leak_inspection")
        while (
            since is not None and since <= self.as_of and (self.retired_on is None or since < self.retired_on)
        ):
            months = self._months(since)
            if months is None:
                return
            done = self.first(inspected, since)
            self.row("leak_check", since, months_later(since, months), done)
            since = done
            if since is not None and self.retired_on is not None and since > self.retired_on:
                return

    def _checks_after_repairs(self) -> None:
        is_later = self.rule == EU and self.appliance["category"] != "refrigerated_transport"
        for day in self.days("repair"):
            if self.retired_on is not None and day >= self.retired_on:
                continue
            done = self.first(self.days("leak_inspection"), day if is_later else day - timedelta(days=1))
            self.row("leak_check", day, months_later(day, 1), done)

    def _repairs(self) -> None:
        """Without a date, or in 14 days for ozone-depleting refrigerant in Great Britain."""
        is_dated = self.states[-1].refrigerant in OZONE_DEPLETING
        open_since: date | None = None
        repaired_on: date | None = None
        for fact in self.detections():
            if fact.kind == "repair":
                if open_since is not None:
                    self._repair(open_since, fact.on, is_dated=is_dated)
                open_since, repaired_on = None, fact.on
            elif open_since is None and (self.retired_on is None or fact.on < self.retired_on):
                is_recharge = fact.kind == "addition" and fact.on == repaired_on
                open_since = None if is_recharge else fact.on
        if open_since is not None:
            self._repair(open_since, None, is_dated=is_dated)

    def _repair(self, since: date, met_on: date | None, *, is_dated: bool) -> None:
        due_on = since + timedelta(days=14) if is_dated else None
        row = due_row("repair", since, due_on, met_on, self.as_of)
        if self.retired_on is not None and (met_on is None or met_on > self.retired_on):
            row.update(status="cancelled", met_on=None)
        self.rows.append(row)

    def _detection(self) -> None:
        """From 500 t or 100 kg of Annex II, where the installation is known; in the EU not in transport."""
        installed_on = self.appliance.get("installed_on")
        if self.rule == EU and self.appliance["category"] == "refrigerated_transport":
            return
        found = [a for a in amounts(self.rule, self.states[-1]) if a.is_longer_with_detection]
        if (
            installed_on is None
            or self.retired_on is not None
            or not any(a.reaches(a.bands[2]) for a in found)
        ):
            return
        day = date.fromisoformat(installed_on)
        if day <= self.as_of:
            done = next(iter(self.days("automatic_leak_detection")), None)
            self.rows.append(due_row("automatic_leak_detection", day, day, done, self.as_of))


def elsewhere(request: Json, rule: str) -> Json:
    """Whether the rule applies, and its rows by kind."""
    from tests.oracle.california import Californian  # noqa: PLC0415 -- it builds on the class above

    duties = Californian(request) if rule == CALIFORNIA else Duties(request, rule)
    kinds = (
        "repair", "initial_verification_test", "follow_up_verification_test", "leak_inspection", "leak_check",
        "retrofit_or_retirement_plan", "retrofit_or_retirement", "chronic_leak_report", "annual_report",
        "automatic_leak_detection", "leak_detection_calibration", "record_retention",
    )  # fmt: skip
    found: dict[tuple[str, str], list[Json]] = {(rule, kind): [] for kind in kinds}
    for row in duties.rows:
        found[rule, row["kind"]].append(row)
    return found
