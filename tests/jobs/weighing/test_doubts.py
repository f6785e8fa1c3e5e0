"""Where a log can't tell what happened, the net mass is less sure, and nothing is called odd that is flow.

The figures are put together by hand; what a log hides is plain from how it is made.
"""

import numpy as np
import pytest

from tests.jobs.weighing.logs import SECONDS, kinds, ramp, weighed

EVERY_5_S = np.arange(0, 600.0, 5)
FLOW = ramp(20, 25, 60, 500)


def flicker(count, kg=0.001):
    """The last digit, as it does on a scale at rest."""
    return np.resize([0, 0, kg, 0, -kg, 0, kg], count)


@pytest.mark.parametrize("lasts_s", [6, 9, 13])
def test_short_bursts_read_every_five_seconds_are_flow(lasts_s):
    bursts = sum(ramp(0, -0.3, at_s, at_s + lasts_s, EVERY_5_S) for at_s in (102, 203, 304, 411))
    result = weighed(20 + bursts + flicker(len(EVERY_5_S)), EVERY_5_S)

    assert kinds(result) == []
    assert result.net_mg == pytest.approx(1_200_000, abs=3 * result.uncertainty_mg)
    assert result.uncertainty_mg < 5_000


def test_a_burst_within_a_gap_is_flow():
    times_s = np.delete(SECONDS, slice(250, 300))
    weights_kg = ramp(20, 19, 100, 150) + ramp(0, -1, 260, 290)

    result = weighed(weights_kg[times_s.astype(int)] + flicker(len(times_s)), times_s)

    assert kinds(result) == ["gap"]
    assert result.net_mg == pytest.approx(2_000_000, abs=3 * result.uncertainty_mg)


def test_a_zero_pressed_within_a_gap_hides_what_flowed_meanwhile():
    times_s = np.delete(SECONDS, slice(250, 310))
    weights_kg = ramp(20, 16, 100, 500) - np.where(SECONDS > 290, 17, 0)

    seen = weighed(ramp(20, 16, 100, 500) - np.where(SECONDS > 290, 18.1, 0))
    hidden = weighed(weights_kg[times_s.astype(int)], times_s)

    assert hidden.net_mg == pytest.approx(4_000_000, abs=3 * hidden.uncertainty_mg)
    # A minute at 10 g a second, more or less.
    assert hidden.uncertainty_mg > 100_000 > 10 * seen.uncertainty_mg


def test_a_zero_pressed_while_the_reading_stood_may_hide_flow():
    going_on = FLOW - np.where(SECONDS >= 300, FLOW[300], 0)
    frozen = np.where((SECONDS >= 260) & (SECONDS < 300), FLOW[260], going_on)

    result = weighed(frozen)

    assert result.net_mg == pytest.approx(5_000_000, abs=3 * result.uncertainty_mg)
    assert result.uncertainty_mg > 100_000


def test_a_flow_that_ended_while_the_reading_stood_is_told_as_one_of_two_things():
    # 20 g a second until 300 s; the reading stood from 260 s until 320 s and then caught up at once.
    weights_kg = ramp(20, 16, 100, 300)
    weights_kg = np.where((SECONDS >= 260) & (SECONDS < 320), weights_kg[260], weights_kg)

    result = weighed(weights_kg)

    assert kinds(result) == ["stuck"]
    assert "can't tell apart" in result.anomalies[0].because
    assert result.net_mg == 4_000_000
    assert result.uncertainty_mg == pytest.approx(400_000, rel=0.01)


def test_a_reading_left_out_at_the_end_may_have_been_flow():
    weights_kg = ramp(20, 18, 100, 400) + flicker(600)
    weights_kg[-2:] -= 0.12

    result = weighed(weights_kg)

    assert kinds(result) == ["spike"]
    assert "where the log begins or ends 61.0 g" in result.because
    assert result.net_mg + 3 * result.uncertainty_mg > 2_120_000


def test_the_last_readings_of_a_slow_flow_may_look_still():
    # 1.3 g a second, read every 2 s with divisions of 2 g; by chance the last few show nearly the same.
    times_s = np.arange(0, 400.0, 2)
    shown_kg = 20 + np.clip(times_s - 100, 0, None) * 0.0013 // 0.002 * 0.002
    shown_kg[-4:] = shown_kg[-5] + np.array([0.010, 0.010, 0.010, 0.012])

    result = weighed(shown_kg, times_s, division_mg=2_000)

    assert kinds(result) == []
    assert result.uncertainty_mg > 3_000
