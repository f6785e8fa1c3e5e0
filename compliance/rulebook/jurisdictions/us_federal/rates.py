"""Leak rates under 40 CFR 82.157(b) and 84.106(b): which additions are rated, by which threshold; the look ahead."""

from collections.abc import Sequence
from datetime import date
from decimal import Decimal
from fractions import Fraction

import numpy as np

from compliance.rulebook.additions import Addition, CollectedAdditions
from compliance.rulebook.facts import LeakRateMethod
from compliance.rulebook.jurisdictions.us_federal.applicability import verdict
from compliance.rulebook.jurisdictions.us_federal.rate_words import RateWords
from compliance.rulebook.leak_rate import UNKNOWN, AdditionColumns, RateColumns, annualizing, rolling
from compliance.rulebook.masses import format_mass
from compliance.rulebook.results import LeakRate, RuleHeadroom
from compliance.rulebook.tables import Row, Tables
from compliance.rulebook.timeline import Timeline


def leak_rates(
    rule: str, timeline: Timeline, additions: CollectedAdditions, tables: Tables
) -> list[LeakRate]:
    """The leak rate of each addition that the rule asks one for, in the order of the facts.

    No rate follows a charge at installation, right after a retrofit, or within a seasonal variance.

    Source: 40 CFR 82.157(b), 84.106(b); thresholds (c)(2).
    """
    thresholds = [_threshold(rule, timeline, addition, tables) for addition in additions.rows]
    if not any(thresholds):
        return []
    rates = _kernel(rule, timeline, additions.rows, thresholds, tables)
    words = RateWords(rule, timeline.appliance, tables)
    rows = []
    for index, (addition, threshold) in enumerate(zip(additions.rows, thresholds, strict=True)):
        if threshold is None:
            continue
        added_mg, divisor_days = int(rates.added_mg[index]), int(rates.divisor_days[index])
        percent = Fraction(added_mg * _period_days(rule, addition.on, tables) * 100)
        percent /= addition.state.full_charge_mg * divisor_days
        row = LeakRate(
            on=addition.on,
            rule=rule,
            method=timeline.appliance.leak_rate_method,
            added_mg=added_mg,
            days=int(rates.days[index]),
            percent=percent,
            percent_rounded=rounded_pct(percent),
            threshold_pct=threshold.number,
            exceeds=bool(rates.is_over[index]),
            because="",
            event=addition.event,
            leak=addition.leak,
            position=addition.position,
            net_mg=addition.net_mg,
            full_charge_mg=addition.state.full_charge_mg,
        )
        rows.append(words.explained(row, addition, threshold, rates, index))
    return sorted(rows, key=lambda row: row.position)


def headroom(
    rule: str, timeline: Timeline, additions: CollectedAdditions, tables: Tables
) -> RuleHeadroom | None:
    """The largest addition on ``as_of`` that stays at or under the rule's threshold, for a new leak in a new event.

    Exact, rounded down to a milligram, without the milligram's tolerance, never below zero; ``None`` where the rule
    sets no threshold that day.
    """
    as_of, state = timeline.as_of, timeline.final_state
    if state.is_retired:
        return None
    with_probe = additions.with_probe(as_of, state)
    thresholds = [_threshold(rule, timeline, addition, tables) for addition in with_probe]
    threshold = thresholds[-1]
    if threshold is None:
        return None
    rates = _kernel(rule, timeline, with_probe, thresholds, tables)
    counted_mg, divisor_days = int(rates.added_mg[-1]), int(rates.divisor_days[-1])
    period_days = _period_days(rule, as_of, tables)
    allowed = Fraction(threshold.number) / 100 * state.full_charge_mg * divisor_days / period_days
    mass_mg = max(0, (allowed - counted_mg).__floor__())
    sum_in_words = f"{format_mass(state.full_charge_mg)} × {threshold.in_words}"
    if timeline.appliance.leak_rate_method is LeakRateMethod.ANNUALIZING:
        sum_in_words += f" × {divisor_days} / {period_days}"
    else:
        sum_in_words += f" − {format_mass(counted_mg)} already counted"
    return RuleHeadroom(
        mass_mg,
        f"The largest addition on {as_of} that stays at or under the {threshold.in_words} threshold "
        f"({threshold.citation}): {sum_in_words} = {format_mass(mass_mg)}.",
    )


def rounded_pct(percent: Fraction) -> Decimal:
    """Two decimals, half-even, from the exact value."""
    return Decimal(round(percent * 100)).scaleb(-2)


def _kernel(
    rule: str,
    timeline: Timeline,
    additions: Sequence[Addition],
    thresholds: Sequence[Row | None],
    tables: Tables,
) -> RateColumns:
    columns = _columns(timeline, additions, thresholds)
    last_on = additions[-1].on
    period_days = _period_days(rule, last_on, tables)
    if timeline.appliance.leak_rate_method is LeakRateMethod.ANNUALIZING:
        first = tables.find(rule, "first_calculation_interval", on=last_on)
        return annualizing(
            columns, period_days=period_days, first_calculation_days=first.count if first else None
        )
    first = tables.find(rule, "first_calculation_from", on=last_on)
    from_day = first.day.toordinal() if first else None
    return rolling(columns, period_days=period_days, first_calculation_from_day=from_day)


def _columns(
    timeline: Timeline, additions: Sequence[Addition], thresholds: Sequence[Row | None]
) -> AdditionColumns:
    moments = _numbered([(addition.on, addition.moment) for addition in additions])
    groups = _numbered(
        [
            ("leak", addition.leak)
            if addition.leak is not None and addition.is_counted
            else ("own", addition.position)
            for addition in additions
        ]
    )

    def column(values: list[int]) -> np.ndarray:
        return np.array(values, dtype=np.int64)

    installed_on = timeline.appliance.installed_on
    return AdditionColumns(
        appliance=column([0] * len(additions)),
        day=column([addition.on.toordinal() for addition in additions]),
        moment=column(moments),
        leak_group=column(groups),
        epoch=column([addition.epoch for addition in additions]),
        epoch_start_day=column([_ordinal(addition.epoch_started_on) for addition in additions]),
        installed_day=column([_ordinal(installed_on)] * len(additions)),
        mass_mg=column([addition.net_mg if addition.is_counted else 0 for addition in additions]),
        entries=column([addition.entries if addition.is_counted else 0 for addition in additions]),
        full_charge_mg=column([addition.state.full_charge_mg for addition in additions]),
        threshold_centi_pct=column([int(row.number * 100) if row else 0 for row in thresholds]),
        is_rated=np.array([row is not None for row in thresholds], dtype=bool),
    )


def _threshold(rule: str, timeline: Timeline, addition: Addition, tables: Tables) -> Row | None:
    """The threshold row that an addition is held against, if the rule asks for a rate of it."""
    appliance = timeline.appliance
    if (
        not addition.is_counted
        or not verdict(rule, appliance, addition.state, addition.on, tables).is_applicable
    ):
        return None
    return tables.row(rule, "leak_rate_threshold", on=addition.on, category=appliance.category)


def _period_days(rule: str, on: date, tables: Tables) -> int:
    return tables.row(rule, "annual_period", on=on).count


def _ordinal(on: date | None) -> int:
    return UNKNOWN if on is None else on.toordinal()


def _numbered(keys: Sequence[object]) -> list[int]:
    numbers: dict[object, int] = {}
    return [numbers.setdefault(key, len(numbers)) for key in keys]
