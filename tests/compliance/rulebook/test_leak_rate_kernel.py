"""The array kernel against a slow reading of the formulas, appliance by appliance, addition by addition."""

from dataclasses import dataclass
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from compliance.rulebook.leak_rate import UNKNOWN, AdditionColumns, annualizing, rolling

FIRST_DAY = 739_000


@dataclass(frozen=True)
class Entry:
    """One addition of one appliance, as the kernel takes it."""

    appliance: int
    day: int
    moment: int
    leak: int
    epoch: int
    epoch_start: int
    mass_mg: int
    entries: int
    is_rated: bool


CHARGE_MG = 45_359_237
THRESHOLD_CENTI_PCT = 1000
INSTALLED_DAY = FIRST_DAY - 200


def columns(entries, *, charge_mg=CHARGE_MG):
    def column(values):
        return np.array(list(values), dtype=np.int64)

    return AdditionColumns(
        appliance=column(entry.appliance for entry in entries),
        day=column(entry.day for entry in entries),
        moment=column(entry.moment for entry in entries),
        leak_group=column(entry.leak for entry in entries),
        epoch=column(entry.epoch for entry in entries),
        epoch_start_day=column(entry.epoch_start for entry in entries),
        installed_day=column(INSTALLED_DAY if entry.appliance % 2 else UNKNOWN for entry in entries),
        mass_mg=column(entry.mass_mg for entry in entries),
        entries=column(entry.entries for entry in entries),
        full_charge_mg=column(charge_mg for _ in entries),
        threshold_centi_pct=column(THRESHOLD_CENTI_PCT for _ in entries),
        is_rated=np.array([entry.is_rated for entry in entries], dtype=bool),
    )


@st.composite
def fleets(draw):
    """Up to four appliances; leaks, moments and epochs numbered as the collector would."""
    entries = []
    for appliance in range(draw(st.integers(1, 4))):
        day, epoch, epoch_start, moment = FIRST_DAY, 0, UNKNOWN, 0
        for _ in range(draw(st.integers(0, 9))):
            step = draw(st.integers(0, 250))
            if step == 0 and draw(st.booleans()):
                moment -= 1
            day += step
            if draw(st.integers(0, 4)) == 0:
                epoch, epoch_start = epoch + 1, day
            moment += 1
            named = draw(st.booleans())
            leak = appliance * 1000 + (draw(st.integers(1, 3)) if named else 100 + len(entries))
            mass_mg = draw(st.integers(0, 3_000_000))
            counted = draw(st.integers(0, 2)) if mass_mg else 0
            entries.append(
                Entry(appliance, day, moment, leak, epoch, epoch_start, mass_mg, counted, draw(st.booleans()))
            )
    return entries


def first_rated(entries, index):
    entry = entries[index]
    return entry.is_rated and not any(
        other.is_rated and other.appliance == entry.appliance for other in entries[:index]
    )


def slow_annualizing(entries, index):
    """Sum of the leak so far; days from the last other moment before its first addition."""
    entry = entries[index]
    group = [place for place, other in enumerate(entries[: index + 1]) if other.leak == entry.leak]
    added = sum(entries[place].mass_mg for place in group)
    tolerance = sum(entries[place].entries for place in group)
    start = group[0]
    while start and (entries[start - 1].appliance, entries[start - 1].moment) == (
        entry.appliance,
        entries[group[0]].moment,
    ):
        start -= 1
    before = entries[start - 1] if start and entries[start - 1].appliance == entry.appliance else None
    if first_rated(entries, index):
        days = 365
    elif before is not None:
        days = entries[group[0]].day - before.day
    elif entry.appliance % 2:
        days = entries[group[0]].day - INSTALLED_DAY
    else:
        days = 365
    days = min(365, max(1, days))
    return added, days, Fraction(added - tolerance) > Fraction(CHARGE_MG, 10) * days / 365


def slow_rolling(entries, index, floor):
    entry = entries[index]
    since = max(entry.day - 364, entry.epoch_start)
    if first_rated(entries, index):
        since = max(since, floor)
    window = [
        other
        for other in entries[: index + 1]
        if (other.appliance, other.epoch) == (entry.appliance, entry.epoch) and other.day >= since
    ]
    added = sum(other.mass_mg for other in window)
    tolerance = sum(other.entries for other in window)
    return added, entry.day - since + 1, Fraction(added - tolerance) > Fraction(CHARGE_MG, 10)


@settings(max_examples=150, deadline=None)
@given(fleets())
def test_annualizing_equals_the_slow_reading(entries):
    rates = annualizing(columns(entries), period_days=365, first_calculation_days=365)

    got = list(zip(rates.added_mg.tolist(), rates.days.tolist(), rates.is_over.tolist(), strict=True))
    assert got == [slow_annualizing(entries, index) for index in range(len(entries))]


@settings(max_examples=150, deadline=None)
@given(fleets(), st.integers(-100, 0))
def test_rolling_equals_the_slow_reading(entries, floor):
    floor += FIRST_DAY

    rates = rolling(columns(entries), period_days=365, first_calculation_from_day=floor)

    got = list(zip(rates.added_mg.tolist(), rates.days.tolist(), rates.is_over.tolist(), strict=True))
    assert got == [slow_rolling(entries, index, floor) for index in range(len(entries))]


@pytest.mark.parametrize("charge_mg", [10**9, 10**12, 10**15])
def test_comparison_stays_exact_beyond_64_bits(charge_mg):
    limit = charge_mg // 10
    at, above = (
        Entry(appliance, FIRST_DAY, 1, appliance, 0, UNKNOWN, limit + 1 + extra, 1, is_rated=True)
        for appliance, extra in ((0, 0), (2, 1))
    )

    rates = rolling(columns([at, above], charge_mg=charge_mg), period_days=365)

    assert rates.is_over.tolist() == [False, True]


def test_a_fleet_is_its_appliances_one_by_one():
    rng = np.random.default_rng(1)
    entries = []
    for appliance in range(50):
        days = np.sort(rng.integers(FIRST_DAY, FIRST_DAY + 2000, 12)).tolist()
        entries += [
            Entry(
                appliance,
                day,
                place,
                appliance * 100 + place,
                0,
                UNKNOWN,
                int(rng.integers(1, 9_000_000)),
                1,
                is_rated=True,
            )
            for place, day in enumerate(days)
        ]

    whole = annualizing(columns(entries), period_days=365)
    single = [
        annualizing(columns(entries[start : start + 12]), period_days=365) for start in range(0, 600, 12)
    ]

    assert whole.days.tolist() == [days for part in single for days in part.days.tolist()]
    assert whole.is_over.tolist() == [is_over for part in single for is_over in part.is_over.tolist()]
