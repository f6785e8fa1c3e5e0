"""Laws that hold whatever the log: nothing outside the flow, and no way of writing it, changes the net mass."""

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from jobs.weighing import read_log, weigh
from tests.jobs.weighing.logs import SECONDS, ramp

G_PER_OZ = 28.349523125


@st.composite
def weights_g(draw):
    """A flow between two still stretches on a scale of 1 g that flickers."""
    rng = np.random.default_rng(draw(st.integers(0, 2**16)))
    start, net = draw(st.integers(5_000, 30_000)), draw(st.integers(-4_000, 4_000))
    from_s = draw(st.integers(30, 200))
    to_s = from_s + draw(st.integers(60, 300))
    return np.rint(ramp(start, start + net, from_s, to_s) + rng.normal(0, 0.6, len(SECONDS)))


def net_mg(weights, times=None, unit="g", write=lambda weight: f"{weight:.0f}"):
    times = SECONDS if times is None else times
    rows = [f"{second:.0f},{write(weight)}\n" for second, weight in zip(times, weights, strict=True)]
    result = weigh(read_log((f"time_s,weight_{unit}\n" + "".join(rows)).encode()))
    return result.net_mg, result.uncertainty_mg


@settings(max_examples=20)
@given(weights_g(), st.integers(-4_000, 20_000))
def test_a_heavier_cylinder_changes_no_net(weights, added):
    assert net_mg(np.abs(weights + added))[0] == net_mg(weights)[0] or (weights + added).min() < 0


@settings(max_examples=20)
@given(weights_g(), st.integers(0, 10**6))
def test_a_later_start_changes_nothing(weights, later):
    assert net_mg(weights, SECONDS + later) == net_mg(weights)


@settings(max_examples=20)
@given(weights_g())
def test_the_unit_changes_no_net(weights):
    in_grams, _ = net_mg(weights)

    in_kilograms, _ = net_mg(weights, unit="kg", write=lambda weight: f"{weight / 1000:.3f}")
    in_ounces, _ = net_mg(weights, unit="oz", write=lambda weight: f"{weight / G_PER_OZ:.6f}")

    assert in_kilograms == in_grams
    assert abs(in_ounces - in_grams) <= 5


@settings(max_examples=20)
@given(weights_g(), st.integers(1, 300))
def test_still_readings_at_the_end_change_no_net(weights, count):
    net, uncertainty = net_mg(weights)
    more = np.concatenate([weights, np.full(count, round(weights[-30:].mean()))])

    assert abs(net_mg(more, np.arange(len(more)))[0] - net) <= 2 * uncertainty


@settings(max_examples=20)
@given(weights_g())
def test_a_log_backwards_has_the_same_net(weights):
    forwards, uncertainty = net_mg(weights)

    assert abs(net_mg(weights[::-1])[0] - forwards) <= 2 * uncertainty


@settings(max_examples=20)
@given(weights_g())
def test_two_flows_in_one_log_add_up(weights):
    once, uncertainty = net_mg(weights)
    twice = np.concatenate([weights, weights + round(weights[-30:].mean() - weights[:30].mean())])

    assert abs(net_mg(twice, np.arange(len(twice)))[0] - 2 * once) <= 4 * uncertainty
