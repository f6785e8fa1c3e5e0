"""A bump in the midst of a flow changes no net mass, however fast it flows; a shifted tare is still taken back.

What a bump does is common practice, no source: a knock that dies away within seconds.
"""

import numpy as np
import pytest

from tests.jobs.weighing.logs import SECONDS, kinds, ramp, weighed

# 8 kg in 200 s, 2.4 kg a minute: liquid through a wide hose.
FLOW = ramp(20, 28, 150, 350)
NET_MG = 8_000_000


def knock(at_s, height_kg, tau_s=4.0, lasts_s=7):
    after_s = SECONDS - at_s
    is_off = (after_s >= 0) & (after_s < lasts_s)
    return np.where(is_off, height_kg * np.exp(-np.clip(after_s, 0, None) / tau_s), 0)


@pytest.mark.parametrize("height_kg", [-2.5, -0.6, 0.6, 2.5])
@pytest.mark.parametrize("at_s", [200, 260, 310])
def test_a_knock_in_a_flow_is_a_bump_and_changes_no_net(at_s, height_kg):
    result = weighed(FLOW + knock(at_s, height_kg))

    assert set(kinds(result)) == {"spike"}
    assert result.net_mg == pytest.approx(NET_MG, abs=5_000)


def test_two_knocks_right_after_each_other_are_bumps():
    result = weighed(FLOW + knock(250, 1.2) + knock(256, -0.9))

    assert set(kinds(result)) == {"spike"}
    assert result.net_mg == pytest.approx(NET_MG, abs=5_000)


def test_a_large_knock_makes_no_bumps_beside_it():
    result = weighed(FLOW + knock(250, 3.0))

    assert len(result.anomalies) == 1
    assert result.anomalies[0].from_s == pytest.approx(250, abs=2)
    assert result.anomalies[0].to_s < 265


@pytest.mark.parametrize("at_s", [200, 260, 310])
@pytest.mark.parametrize("offset_kg", [-1.5, -0.3, 0.9])
def test_what_stays_off_in_a_flow_is_still_a_shift(at_s, offset_kg):
    result = weighed(FLOW + np.where(at_s <= SECONDS, offset_kg, 0))

    assert kinds(result) == ["tare_shift"]
    assert result.net_mg == pytest.approx(NET_MG, abs=3 * result.uncertainty_mg + 5_000)


@pytest.mark.parametrize("at_s", [200, 260, 310])
def test_a_zero_in_a_flow_is_still_a_shift(at_s):
    result = weighed(FLOW - np.where(at_s <= SECONDS, FLOW[at_s], 0))

    assert kinds(result) == ["tare_shift"]
    assert result.net_mg == pytest.approx(NET_MG, abs=3 * result.uncertainty_mg + 5_000)
