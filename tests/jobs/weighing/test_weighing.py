"""What is made of logs with one thing odd about each, worked out by hand."""

import time

import numpy as np
import pytest

from jobs.weighing import InvalidLog, curve, read_log, weigh
from tests.architecture.source_tree import ROOT
from tests.jobs.weighing.logs import SECONDS, kinds, ramp, text, weighed

FLOW = ramp(20, 25, 60, 500)
DURING = SECONDS > 300


def test_a_quiet_log_gives_its_net_mass_exactly():
    result = weighed(FLOW)

    assert (result.net_mg, result.direction, kinds(result)) == (5_000_000, "in", [])
    assert (result.gross_start_mg, result.gross_end_mg) == (20_000_000, 25_000_000)
    assert result.duration_s == 599
    assert result.mean_rate_kg_per_min == pytest.approx(5 / (599 / 60))
    assert [plateau.level_mg for plateau in result.plateaus] == [20_000_000, 25_000_000]


def test_what_was_charged_went_out():
    result = weighed(ramp(20, 17, 100, 500))

    assert (result.net_mg, result.direction) == (3_000_000, "out")
    assert result.gross_end_mg == 17_000_000


@pytest.mark.parametrize(
    ("disturbance_kg", "kind"),
    [
        (np.where((SECONDS >= 300) & (SECONDS < 306), 0.3, 0), "spike"),
        (np.where(SECONDS == 250, -19, 0), "spike"),
        (np.where((SECONDS > 300) & (SECONDS < 340), 8, 0), "spike"),
        (np.where(DURING, -FLOW[300], 0), "tare_shift"),
        (np.where(DURING, -0.227, 0), "tare_shift"),
        (np.where(DURING, 2.0, 0), "tare_shift"),
    ],
    ids=["bump", "lifted", "leaned on", "zeroed", "tared down", "something put on"],
)
def test_a_disturbance_is_named_and_changes_no_net(disturbance_kg, kind):
    result = weighed(FLOW + disturbance_kg)

    assert kinds(result) == [kind]
    assert result.net_mg == pytest.approx(5_000_000, abs=3 * result.uncertainty_mg)
    assert result.uncertainty_mg < 5_000
    assert result.gross_end_mg == result.gross_start_mg + result.net_mg


def test_a_zero_before_the_flow_keeps_the_gross_of_the_load():
    result = weighed(np.where(SECONDS < 30, 20, ramp(0, 3, 100, 500)))

    assert kinds(result) == ["tare_shift"]
    assert "zero key" in result.anomalies[0].because
    assert (result.gross_start_mg, result.net_mg) == (20_000_000, 3_000_000)


def test_a_cylinder_put_on_before_the_flow_counts_into_the_gross():
    result = weighed(np.where(SECONDS < 20, 0, ramp(20, 23, 100, 500)))

    assert (result.gross_start_mg, result.net_mg) == (20_000_000, 3_000_000)


def test_another_cylinder_is_named_as_one_of_what_it_may_be():
    result = weighed(np.where(SECONDS < 300, ramp(20, 22, 50, 200), ramp(12, 14, 400, 550)))

    assert kinds(result) == ["tare_shift"]
    assert "another cylinder" in result.anomalies[0].because
    assert result.net_mg == 4_000_000


def test_a_stuck_reading_that_catches_up_is_real_mass():
    frozen = np.where((SECONDS >= 200) & (SECONDS < 260), FLOW[200], FLOW)

    result = weighed(frozen)

    assert kinds(result) == ["stuck"]
    assert result.net_mg == 5_000_000


def test_a_gap_is_named_and_bridged():
    times_s = np.delete(SECONDS, slice(200, 280))

    result = weighed(np.interp(times_s, SECONDS, FLOW), times_s)

    assert kinds(result) == ["gap"]
    assert (result.anomalies[0].from_s, result.anomalies[0].to_s) == (199, 280)
    assert result.net_mg == 5_000_000


def test_a_log_stopped_too_early_says_so_and_is_less_sure():
    result = weighed(FLOW[:400], SECONDS[:400])

    assert kinds(result) == ["still_moving_at_end"]
    assert result.net_mg == pytest.approx(5e6 * 339 / 440, abs=2000)
    assert result.uncertainty_mg > 50_000


def test_a_still_scale_weighs_nothing():
    result = weighed(np.full(600, 20.0))

    assert (result.net_mg, result.direction, result.flow_from_s) == (0, None, None)
    assert weighed(np.full(600, 20.0), direction="out").direction == "out"


def test_pauses_are_summed_over():
    result = weighed(ramp(20, 21, 50, 150) + ramp(0, 2, 300, 400) + ramp(0, 1, 450, 500))

    assert (result.net_mg, kinds(result)) == (4_000_000, [])


@pytest.mark.parametrize(
    ("stated", "weights_kg", "expected"),
    [
        ("out", FLOW, "in: the weight rose by 5.000 kg"),
        ("in", ramp(20, 17, 100, 500), "out: the weight fell by 3.000 kg"),
        ("up", FLOW, "in, out or auto"),
    ],
)
def test_a_direction_that_isnt_so_is_refused(stated, weights_kg, expected):
    with pytest.raises(InvalidLog) as refusal:
        weighed(weights_kg, direction=stated)

    assert (refusal.value.field, refusal.value.value, refusal.value.expected) == (
        "direction",
        stated,
        expected,
    )


def test_the_display_contributes_as_a_rectangular_distribution():
    # JCGM 100:2008, F.2.2.1: a resolution of d contributes 0.29 d; twice, as squares: 0.41 d.
    result = weighed(FLOW, division_mg=10_000)

    assert "the scale's division 4.1 g" in result.because
    assert 4_100 < result.uncertainty_mg < 10_000


def test_two_days_at_one_reading_a_second_are_weighed_quickly():
    times_s = np.arange(172_800.0)
    data = text(ramp(20, 25, 6_000, 100_000, times_s), times_s)
    started = time.process_time()

    result = weigh(read_log(data))

    assert result.net_mg == pytest.approx(5_000_000, abs=2_000)
    # 1.3 s on two shared cores; what is caught here is work that grows faster than the log.
    assert time.process_time() - started < 15


def test_a_curve_keeps_spikes_and_takes_tare_shifts_back():
    weights_kg = FLOW + np.where(DURING, -FLOW[300], 0) + np.where(SECONDS == 150, 3, 0)
    log = read_log(text(weights_kg))

    drawn = curve(log, weigh(log), points=60)

    assert len(drawn.times_s) <= 60
    assert list(drawn.times_s) == sorted(drawn.times_s)
    assert max(drawn.weights_mg) == round(weights_kg[150] * 1e6, -3)
    assert drawn.corrected_mg[-1] == pytest.approx(25_000_000, abs=5_000)
    assert max(drawn.rate_kg_per_min) == pytest.approx(5 / (440 / 60), rel=0.2)


def test_the_demo_logs_show_what_they_are_named_for():
    logs = ROOT / "fixtures/demo/logs"

    recovery = weigh(read_log((logs / "recovery_with_phases.csv").read_bytes()))
    charge = weigh(read_log((logs / "charge_with_bump_and_tare_shift.csv").read_bytes()))

    assert [phase.kind for phase in recovery.phases] == ["liquid", "vapour", "pull_down"]
    assert (recovery.direction, kinds(recovery)) == ("in", [])
    assert (charge.direction, kinds(charge)) == ("out", ["spike", "tare_shift"])


def test_a_still_scale_whose_grams_are_written_in_finer_ounces_weighs_nothing():
    grams = 5_000 + np.resize([0, 1, 0, -1, 0, 0, 1], 600)
    rows = "".join(f"{second},{gram / 28.349523125:.6f}\n" for second, gram in enumerate(grams))

    result = weigh(read_log(("time_s,weight_oz\n" + rows).encode()))

    assert (result.net_mg, result.division_mg, kinds(result)) == (0, 1_000, [])
