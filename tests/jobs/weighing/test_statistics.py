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
from tests.jobs.weighing.generator import ANOMALIES, GeneratedLog, generate, generate_long

SAMPLE, PROOF = 60, 2_000
FIRST_OTHER_SEED = 200_000
NEAR_S = 6.0
# False anomalies a log, where more than two in a hundred are put up with: in a fast flow of slugs a bump that comes
# back slowly can't always be told from a jump of the tare.
MOST_FALSE = {"spike": 0.03}


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
    return tuple(_weighed(generate(seed, kinds)) for seed in range(count))


@cache
def others_weighed() -> tuple[Weighed, ...]:
    """As many logs again, of seeds that stand here since 27 November 2026: no estimator was tuned with them before."""
    return tuple(_weighed(generate(seed)) for seed in range(FIRST_OTHER_SEED, FIRST_OTHER_SEED + PROOF))


@cache
def long_weighed(count: int, interval_s: float) -> tuple[Weighed, ...]:
    return tuple(_weighed(generate_long(seed, interval_s)) for seed in range(count))


def _weighed(log: GeneratedLog) -> Weighed:
    read = read_log(log.data)
    return Weighed(log, weigh(read), abs(int(read.weights_mg[-1] - read.weights_mg[0])) / 1000)


def counts(name="count"):
    return pytest.mark.parametrize(name, [SAMPLE, pytest.param(PROOF, marks=pytest.mark.proof)])


def long_logs():
    """A few logs thinned to six readings a minute; forty with a reading each second in the proof."""
    full = pytest.param(40, 1.0, marks=pytest.mark.proof)
    return pytest.mark.parametrize(("count", "interval_s"), [(3, 10.0), full])


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


@pytest.mark.parametrize("kind", ANOMALIES)
@counts()
def test_the_stated_uncertainty_is_honest_whatever_is_odd(kind, count):
    logs = weighed(count // 4, (kind,))
    outside = [one.log.note for one in logs if one.error_divisions > 3 * one.uncertainty_divisions]

    assert len(outside) <= 0.01 * len(logs), outside


@pytest.mark.proof
def test_the_same_holds_for_other_logs():
    logs = others_weighed()
    outside = [one.log.note for one in logs if one.error_divisions > 3 * one.uncertainty_divisions]

    assert np.median([one.error_divisions for one in logs]) < 1
    assert len(outside) <= 0.01 * len(logs), outside


@long_logs()
def test_night_and_day_move_no_net_beyond_its_uncertainty(count, interval_s):
    logs = long_weighed(count, interval_s)

    assert np.median([one.error_divisions for one in logs]) < 1
    assert np.median([one.uncertainty_divisions for one in logs]) < 1.5
    assert np.mean([one.error_divisions <= 3 * one.uncertainty_divisions for one in logs]) >= 0.99


@long_logs()
def test_a_long_log_has_few_false_anomalies(count, interval_s):
    logs = long_weighed(count, interval_s)
    false = sum(max(0, len(one.result.anomalies) - len(one.log.injected)) for one in logs)

    assert false <= max(1, 0.02 * len(logs))
    assert [one.log.note for one in logs if _shifts(one) > _injected_shifts(one)] == []


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
    found, missed, extra, logs = Counter(), Counter(), Counter(), 0
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
            logs += 1
            extra[kind] += len(one.result.anomalies) - len(claimed)

    assert found[kind] >= 5
    assert missed[kind] <= max(1, 0.03 * (found[kind] + missed[kind]))
    assert extra[kind] <= max(1, MOST_FALSE.get(kind, 0.02) * logs)


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


def _shifts(one):
    return sum(anomaly.kind == "tare_shift" for anomaly in one.result.anomalies)


def _injected_shifts(one):
    return sum(injected.kind == "tare_shift" for injected in one.log.injected)


def _names(log):
    return [name for name, _, _ in log.phases]
