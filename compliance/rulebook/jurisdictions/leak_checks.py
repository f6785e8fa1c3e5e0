"""Leak checks by bands of carbon dioxide equivalent or mass, as European and British law ask for them."""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal
from fractions import Fraction
from functools import cache

from compliance.rulebook import policy
from compliance.rulebook.duties import Clock
from compliance.rulebook.facts import Fact, FactKind
from compliance.rulebook.grounds import Ground
from compliance.rulebook.jurisdictions.docket import Docket, after, reckoned
from compliance.rulebook.jurisdictions.inspection_chain import (
    open_calibrations,
    open_chain,
    open_checks_after_repairs,
)
from compliance.rulebook.jurisdictions.leak_repairs import open_repairs
from compliance.rulebook.jurisdictions.lifetime import Lifetime
from compliance.rulebook.masses import MG_PER_UNIT, format_mass
from compliance.rulebook.results import ObligationKind
from compliance.rulebook.tables import Row
from compliance.rulebook.timeline import State

BANDS = "abc"


@dataclass(frozen=True)
class Amount:
    """What bands are held against, in the unit of their rows, and its arithmetic in words.

    ``resolution`` is one milligram of charge in that unit; ``rests_on`` holds what the gas counts by.

    The rows of its bands are named ``band_key`` and a letter, those of its intervals ``interval_key`` and a letter.
    """

    value: Fraction
    resolution: Fraction
    unit: str
    in_words: str
    band_key: str
    interval_key: str = "leak_check_interval"
    rests_on: tuple[Ground, ...] = ()

    def reaches(self, row: Row) -> bool:
        """Whether the amount is at the row's bound or above it, within a milligram of charge."""
        return self.value + self.resolution >= Fraction(row.number)

    def against(self, band_key: str) -> "Amount":
        """The same amount, held against other rows."""
        return replace(self, band_key=band_key)

    def resting_on(self, grounds: Iterable[Ground]) -> "Amount":
        """The same amount, with what it was reckoned by."""
        return replace(self, rests_on=tuple(grounds))


def tonnes_of_co2(full_charge_mg: int, gwp: Fraction, band_key: str = "leak_check_band") -> Amount:
    """The charge in tonnes of carbon dioxide equivalent: kilograms / 1000 × global warming potential."""
    per_mg = gwp / Fraction(MG_PER_UNIT["kg"]) / 1000
    tonnes = full_charge_mg * per_mg
    words = f"{format_mass(full_charge_mg, 'kg')} × {_decimal(gwp)} / 1000 = {_thousandths(tonnes)} t CO2e"
    return Amount(tonnes, per_mg * policy.RESOLUTION.value, "t CO2e", words, band_key)


def kilograms(
    full_charge_mg: int, part: Fraction, band_key: str, interval_key: str = "leak_check_interval"
) -> Amount:
    """The mass of a part of the charge in kilograms."""
    per_mg = 1 / Fraction(MG_PER_UNIT["kg"])
    value = part * full_charge_mg * per_mg
    words = format_mass(full_charge_mg, "kg")
    if part != 1:
        words += f" × {_decimal(part * 100)} % = {_thousandths(value)} kg"
    return Amount(value, per_mg * policy.RESOLUTION.value, "kg", words, band_key, interval_key)


def _decimal(value: Fraction) -> str:
    """A potential or a percentage of the tables, all of whose digits are few."""
    return f"{(Decimal(value.numerator) / value.denominator).normalize():f}"


def _thousandths(value: Fraction) -> Decimal:
    return Decimal(round(value * 1000)).scaleb(-3)


def interval_for(docket: Docket, amounts: list[Amount], *, has_detection: bool) -> Row | None:
    """The shortest interval that any of the amounts asks for; ``None`` below every band.

    Detection that works lengthens an interval where the rule has a row for it.
    """
    found = []
    on = docket.timeline.as_of
    for amount in amounts:
        reached = [band for band in BANDS if amount.reaches(docket.row(f"{amount.band_key}_{band}", on))]
        if reached:
            key = f"{amount.interval_key}_{reached[-1]}"
            longer = docket.find_row(f"{key}_with_detection", on) if has_detection else None
            found.append(longer or docket.row(key, on))
    return min(found, key=lambda row: row.count, default=None)


def bands_rest_on(docket: Docket, amounts: Sequence[Amount]) -> tuple[Ground, ...]:
    """What the shortest interval rests on: the amounts, the bands they are held against, their intervals."""
    on = docket.timeline.as_of
    rows: list[Ground] = []
    for amount in amounts:
        bands = {band: docket.row(f"{amount.band_key}_{band}", on) for band in BANDS}
        intervals = [f"{amount.interval_key}_{band}" for band, row in bands.items() if amount.reaches(row)]
        keys = [key for interval in intervals[-1:] for key in (interval, f"{interval}_with_detection")]
        found = (docket.find_row(key, on) for key in keys)
        rows += [*amount.rests_on, *bands.values(), *(row for row in found if row is not None)]
    return tuple(rows)


AmountsOf = Callable[[State], list[Amount]]


class LeakChecks:
    """Opens everything such a rule asks of one appliance; a jurisdiction says what amounts a state comes to."""

    def __init__(self, docket: Docket, life: Lifetime) -> None:
        self._docket = docket
        self._timeline = docket.timeline
        self._life = life
        self._detection = self._timeline.of_kind(FactKind.AUTOMATIC_LEAK_DETECTION)

    def open_checks(self, amounts_of: AmountsOf) -> None:
        """The chain of leak checks from its start, each interval by the state and detection of its first day."""
        starts_on = self._life.start(self._timeline.appliance.installed_on)
        if starts_on is None:
            self._docket.warn("The installation date is not known, so the first leak check has no due date.")
            first = next(iter(self._timeline.of_kind(FactKind.LEAK_INSPECTION)), None)
            if first is None:
                return
            starts_on = first.on

        @cache
        def interval(state: State, *, has_detection: bool) -> Row | None:
            # Between two times under the rule the checks go on at the present interval rather than stop.
            amounts = amounts_of(state) or amounts_of(self._timeline.final_state)
            return interval_for(self._docket, amounts, has_detection=has_detection)

        def interval_on(on: date) -> Row | None:
            return interval(self._timeline.state_on(on), has_detection=self._has_detection(on))

        kind = ObligationKind.LEAK_CHECK
        open_chain(self._docket, kind, starts_on=starts_on, interval_on=interval_on, life=self._life)

    def open_after_repairs(self, operation_key: str | None = None) -> None:
        """A check after each repair, where the rule has a row for it after so many hours of operation."""
        as_of = self._timeline.as_of
        row = self._docket.row("check_after_repair", as_of)
        operation = None if operation_key is None else self._docket.row(operation_key, as_of)
        open_checks_after_repairs(self._docket, row, operation=operation, life=self._life)

    def open_repairs(self, key: str = "repair") -> None:
        """Repair in the rule's days, or without undue delay and then without a date; a detected leak opens it."""
        row = self._docket.row(key, self._timeline.as_of)

        def terms(fact: Fact) -> tuple[Clock, str]:
            if row.unit == "text":
                return Clock(None), f"Repair {row.value}."
            return Clock(after(fact.on, row)), f"{reckoned(fact.on, row)}."

        open_repairs(self._docket, row, terms, self._life)

    def open_detection(self, amounts_of: AmountsOf) -> None:
        """Leak detection where an amount reaches its bound, and its yearly check where it is installed."""
        starts_on = self._life.start(self._timeline.appliance.installed_on)
        amounts = amounts_of(self._timeline.final_state) if self._life.ended_on is None else []
        bounds = [(amount, self._docket.row(amount.band_key, self._timeline.as_of)) for amount in amounts]
        reached = [(amount, row) for amount, row in bounds if amount.reaches(row)]
        if reached and starts_on is not None and starts_on <= self._timeline.as_of:
            amount, row = reached[0]
            because = (
                f"{amount.in_words}, which is {row.number} {amount.unit} or more, so leak detection is required as "
                f"long as the appliance is in use, from {starts_on} on."
            )
            clock = Clock(starts_on)
            kind = ObligationKind.AUTOMATIC_LEAK_DETECTION
            rests_on = amount.rests_on
            duty = self._docket.open(kind, row, starts_on, clock, because, None, rests_on=rests_on)
            if self._detection:
                fact = self._detection[0]
                duty.meet(fact.on, fact.event, f"Installed on {fact.on}.")
        if self._detection:
            row = self._docket.row("leak_detection_calibration", self._timeline.as_of)
            open_calibrations(self._docket, row, self._detection[0], self._life)

    def _has_detection(self, on: date) -> bool:
        """Whether leak detection is installed when an interval begins."""
        return any(fact.on <= on for fact in self._detection)
