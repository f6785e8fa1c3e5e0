"""How fast a fleet's leak rates are beside a numpy pass written by hand, and how long one long history takes to assess.

Not among the tests that every change runs, since the clock of a shared machine proves little; `make benchmark` runs it.
The hand-written pass does what these columns ask for and no more: cumulative sums, one searchsorted, percentages in
floating point. Both run by turns over the same arrays and must agree, so their ratio carries to other machines.
"""

import sys
from collections.abc import Callable
from datetime import date, timedelta
from statistics import median
from time import perf_counter, process_time

import numpy as np
import pytest

from compliance.rulebook.assess import assess
from compliance.rulebook.facts import Appliance, Category, Fact, FactKind, LeakRateMethod
from compliance.rulebook.leak_rate import UNKNOWN, AdditionColumns, annualizing, rolling
from compliance.rulebook.refrigerants import find

APPLIANCES = 100_000
ADDITIONS = 1_000_000
FIRST_DAY, DAYS = date(2021, 1, 1).toordinal(), 5 * 365
PERIOD_DAYS = 365
ROUNDS = 9

#: The goals: the kernel beside the hand-written pass, and one appliance with 200 service events.
MOST_TIMES_BY_HAND = 1.5
MOST_MS = 5

LB_MG = 453_592


def fleet(share_for_a_known_leak: float, share_after_a_follow_up: float) -> AdditionColumns:
    """Additions of five years, some of them for a leak charged before, some the first after a follow-up test."""
    rng = np.random.default_rng(20_260_101)
    row = np.arange(ADDITIONS)
    appliance = np.sort(rng.integers(0, APPLIANCES, ADDITIONS))
    day = rng.integers(FIRST_DAY, FIRST_DAY + DAYS, ADDITIONS)
    day = day[np.lexsort((day, appliance))]
    is_same_appliance = np.append(False, appliance[1:] == appliance[:-1])
    is_for_known_leak = (rng.random(ADDITIONS) < share_for_a_known_leak) & is_same_appliance
    is_after_follow_up = (rng.random(ADDITIONS) < share_after_a_follow_up) | ~is_same_appliance
    epoch_start = np.maximum.accumulate(np.where(is_after_follow_up, row, 0))
    return AdditionColumns(
        appliance=appliance,
        day=day,
        moment=row,
        leak_group=np.maximum.accumulate(np.where(is_for_known_leak, 0, row)),
        epoch=np.cumsum(is_after_follow_up),
        epoch_start_day=np.where(is_same_appliance[epoch_start], day[epoch_start], UNKNOWN),
        installed_day=np.full(ADDITIONS, UNKNOWN),
        mass_mg=rng.integers(10_000, 3_000_000, ADDITIONS),
        entries=np.zeros_like(row),
        full_charge_mg=rng.integers(7_000_000, 300_000_000, APPLIANCES)[appliance],
        threshold_centi_pct=rng.choice([1000, 2000, 3000], APPLIANCES)[appliance],
        is_rated=np.ones(ADDITIONS, dtype=bool),
    )


def annualizing_by_hand(columns: AdditionColumns) -> tuple[np.ndarray, ...]:
    days = np.clip(np.diff(columns.day, prepend=0), 1, PERIOD_DAYS)
    days[np.diff(columns.appliance, prepend=-1) != 0] = PERIOD_DAYS
    order = np.argsort(columns.leak_group, kind="stable")
    starts = np.flatnonzero(np.diff(columns.leak_group[order], prepend=-1))
    start = np.repeat(starts, np.diff(starts, append=ADDITIONS))
    mass_mg = columns.mass_mg[order]
    total = np.cumsum(mass_mg)
    added_mg = np.empty_like(total)
    added_mg[order] = total - (total - mass_mg)[start]
    days[order] = days[order][start]
    pct = added_mg / columns.full_charge_mg * PERIOD_DAYS / days * 100
    return added_mg, days, pct > columns.threshold_centi_pct / 100


def rolling_by_hand(columns: AdditionColumns) -> tuple[np.ndarray, ...]:
    is_new = np.ones(ADDITIONS, dtype=bool)
    is_new[1:] = (np.diff(columns.appliance) != 0) | (np.diff(columns.epoch) != 0)
    window = np.cumsum(is_new) * 10_000_000
    since_day = np.maximum(columns.day - PERIOD_DAYS + 1, columns.epoch_start_day)
    start = np.searchsorted(window + columns.day, window + since_day)
    total = np.cumsum(columns.mass_mg)
    added_mg = total - (total - columns.mass_mg)[start]
    pct = added_mg / columns.full_charge_mg * 100
    return added_mg, columns.day - since_day + 1, pct > columns.threshold_centi_pct / 100


def seconds(work: Callable[[], object]) -> float:
    began = perf_counter()
    work()
    return perf_counter() - began


@pytest.mark.parametrize(
    ("fleet_of", "known_leaks", "follow_ups"), [("plain additions", 0, 0), ("leaks and tests", 0.1, 0.05)]
)
def test_kernel_keeps_up_with_a_pass_written_by_hand(fleet_of, known_leaks, follow_ups):
    columns = fleet(known_leaks, follow_ups)

    for by_hand, rates in (
        (annualizing_by_hand(columns), annualizing(columns, period_days=PERIOD_DAYS)),
        (rolling_by_hand(columns), rolling(columns, period_days=PERIOD_DAYS)),
    ):
        for expected, got in zip(by_hand, (rates.added_mg, rates.days, rates.is_over), strict=True):
            assert np.array_equal(expected, got)
    times = [
        (
            seconds(lambda: (annualizing_by_hand(columns), rolling_by_hand(columns))),
            seconds(
                lambda: (
                    annualizing(columns, period_days=PERIOD_DAYS),
                    rolling(columns, period_days=PERIOD_DAYS),
                )
            ),
        )
        for _ in range(ROUNDS)
    ]

    ratio = median(kernel / by_hand for by_hand, kernel in times)
    by_hand_ms, kernel_ms = (1000 * median(column) for column in zip(*times, strict=True))
    sys.stdout.write(
        f"\nBoth rates of {ADDITIONS:,} additions, {fleet_of}: by hand {by_hand_ms:.0f} ms, kernel {kernel_ms:.0f} ms, "
        f"{ratio:.2f} times"
    )
    assert ratio <= MOST_TIMES_BY_HAND


def history(events: int) -> list[Fact]:
    """A service event every 9 days: additions with leaks, inspections, repairs, both tests, refrigerant put back."""
    facts: list[Fact] = []
    for number in range(events):
        on, event, leak = date(2026, 1, 10) + timedelta(days=9 * number), f"E{number}", f"L{number // 5}"

        def fact(kind: FactKind, on=on, event=event, **keys) -> Fact:
            return Fact(on=on, kind=kind, event=event, **keys)

        visits = (
            [fact(FactKind.ADDITION, mass_mg=(60 if number % 20 == 0 else 4) * LB_MG, leak=leak)],
            [
                fact(FactKind.LEAK_INSPECTION, leaks_found=1),
                fact(FactKind.REPAIR, leak=leak),
                fact(FactKind.INITIAL_VERIFICATION_TEST, passed=True, leak=leak),
            ],
            [fact(FactKind.FOLLOW_UP_VERIFICATION_TEST, passed=True, leak=leak)],
            [fact(FactKind.REMOVAL, mass_mg=LB_MG), fact(FactKind.ADDITION, mass_mg=2 * LB_MG)],
            [fact(FactKind.LEAK_INSPECTION, leaks_found=0)],
        )
        facts += visits[number % len(visits)]
    return facts


@pytest.mark.parametrize("rule", ["us-federal", "us-california", "eu", "uk"])
@pytest.mark.parametrize("method", list(LeakRateMethod))
def test_one_appliance_with_200_service_events_is_assessed_at_once(rule, method):
    appliance = Appliance(
        category=Category.COMMERCIAL_REFRIGERATION,
        refrigerant=find("R-404A"),
        full_charge_mg=600 * LB_MG,
        leak_rate_method=method,
        installed_on=date(2025, 5, 1),
    )
    facts = history(200)
    as_of = facts[-1].on + timedelta(days=10)

    times_ms = []
    for _ in range(3 * ROUNDS):
        began = process_time()
        answer = assess(appliance, facts, as_of=as_of, rules=(rule,))
        times_ms.append(1000 * (process_time() - began))

    taken_ms = median(times_ms)
    sys.stdout.write(
        f"\n{rule}, {method}: {len(facts)} facts, {len(answer.leak_rates)} leak rates, {len(answer.obligations)} "
        f"obligations in {taken_ms:.1f} ms"
    )
    assert taken_ms <= MOST_MS
