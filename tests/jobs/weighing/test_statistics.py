"""How far the net mass is off, over many generated logs whose true net mass is known.

A standard deviation that is honest leaves few errors beyond three of it (JCGM 100:2008, 3.3 and G.1.3). The estimator
knows nothing of the generator, and the plain difference of last and first reading fails what it passes.
"""

from collections import Counter
from dataclasses import dataclass
from functools import cache

import numpy as np
import pytest

from jobs.weighing import Weighing, read_log, weigh
from tests.jobs.weighing.generator import ANOMALIES, GeneratedLog, generate

SAMPLE, PROOF = 60, 2_000
NEAR_S = 6.0


@dataclass(frozen=True)
class Weighed:
    log: GeneratedLog
    result: Weighing
    naive_g: float

    @property
    def error_divisions(self):
        return abs(self.result.net_mg / 1000 - self.log.net_g) / self.log.division_g

    @property
    def uncertainty_divisions(self):
        return self.result.uncertainty_mg / 1000 / self.log.division_g

    @property
    def naive_error_divisions(self):
        return abs(self.naive_g - self.log.net_g) / self.log.division_g


@cache
def weighed(count: int, kinds: tuple[str, ...] | None = None) -> tuple[Weighed, ...]:
    found = []
    for seed in range(count):
        log = generate(seed, kinds)
        read = read_log(log.data)
        found.append(Weighed(log, weigh(read), abs(int(read.weights_mg[-1] - read.weights_mg[0])) / 1000))
    return tuple(found)


def counts(name="count"):
    return pytest.mark.parametrize(name, [SAMPLE, pytest.param(PROOF, marks=pytest.mark.proof)])


@counts()
def test_half_of_the_errors_are_below_one_division(count):
    errors = [one.error_divisions for one in weighed(count)]

    assert np.median(errors) < 1


@counts()
def test_the_stated_uncertainty_is_honest(count):
    is_within = [one.error_divisions <= 3 * one.uncertainty_divisions for one in weighed(count)]

    assert np.mean(is_within) >= 0.99, [
        one.log.note for one, is_so in zip(weighed(count), is_within, strict=True) if not is_so
    ]


@counts()
def test_last_less_first_reading_would_fail(count):
    is_within = [one.naive_error_divisions <= 3 * one.uncertainty_divisions for one in weighed(count)]

    assert np.mean(is_within) < 0.95


@counts()
def test_the_direction_is_found(count):
    assert [one.log.note for one in weighed(count) if one.result.direction != one.log.direction] == []


@counts()
def test_the_uncertainty_of_a_clean_log_is_small_and_used_up(count):
    clean = weighed(count, ())
    uncertainties = np.array([one.uncertainty_divisions for one in clean])
    errors = np.array([one.error_divisions for one in clean])

    assert np.median(uncertainties) < 1.5
    assert np.quantile(uncertainties, 0.95) < 3
    # Far fewer errors within one standard deviation than of a normal distribution would mean that it is too small,
    # all within half of one that it is far too large.
    assert np.mean(errors <= uncertainties) > 0.6
    assert np.mean(errors <= uncertainties / 4) < 0.6


@counts()
def test_a_clean_log_has_no_anomalies(count):
    is_suspected = [bool(one.result.anomalies) for one in weighed(count, ())]

    assert np.mean(is_suspected) <= 0.02


@pytest.mark.parametrize("kind", ANOMALIES)
@counts()
def test_each_anomaly_is_found_and_little_else(kind, count):
    found, missed, extra = Counter(), Counter(), Counter()
    for one in weighed(count // 4, (kind,)):
        claimed = set()
        for injected in one.log.injected:
            hits = {
                index
                for index, anomaly in enumerate(one.result.anomalies)
                if anomaly.kind == injected.kind
                and anomaly.from_s <= injected.to_s + NEAR_S
                and anomaly.to_s >= injected.from_s - NEAR_S
            }
            (found if hits else missed)[injected.kind] += 1
            claimed |= hits
        if one.log.injected:
            extra[kind] += len(one.result.anomalies) - len(claimed)

    assert found[kind] >= 5
    assert missed[kind] <= max(1, 0.05 * found[kind])
    assert extra[kind] <= max(1, 0.1 * found[kind])


@counts()
def test_phases_of_a_recovery_are_told_where_it_has_them(count):
    recoveries = [one for one in weighed(count, ()) if one.log.phases]
    told = [one for one in recoveries if [phase.kind for phase in one.result.phases] == _names(one.log)]
    late_s = [
        abs(phase.from_s - from_s)
        for one in told
        for phase, (_, from_s, _) in zip(one.result.phases, one.log.phases, strict=True)
    ]

    assert len(told) >= 0.8 * len(recoveries) > 0
    assert np.median(late_s) < 60


@counts()
def test_other_flows_are_seldom_given_phases(count):
    others = [one for one in weighed(count, ()) if not one.log.phases and one.log.direction == "out"]

    assert others
    assert [one.log.note for one in others if one.result.phases] == []


def _names(log):
    return [name for name, _, _ in log.phases]
