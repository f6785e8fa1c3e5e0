"""``manage.py weigh`` as people script it: keys, types, exit statuses."""

import json
import subprocess
import sys

import pytest

from tests.architecture.source_tree import ROOT

LOG = "time,weight_kg\n" + "".join(
    f"2026-05-04T09:{second // 60:02}:{second % 60:02},{20 + min(max(second - 60, 0), 300) / 100:.2f}\n"
    for second in range(480)
)


def run_weigh(*arguments, log=LOG):
    command = [sys.executable, "manage.py", "weigh", *arguments]
    return subprocess.run(
        command, cwd=ROOT, input=log, capture_output=True, text=True, encoding="utf-8", check=False
    )


def test_the_answer_has_the_keys_that_people_script():
    finished = run_weigh("-")

    answer = json.loads(finished.stdout)
    assert finished.returncode == 0
    assert answer["net"] == {"mg": 3_000_000, "kg": 3.0, "lb": 6.614}
    assert answer["gross_start"]["kg"] == 20.0
    assert answer["gross_end"]["kg"] == 23.0
    assert set(answer["uncertainty"]) == {"mg", "kg", "lb"}
    assert answer["direction"] == "in"
    assert answer["samples"] == 480
    assert answer["starts_at"] == "2026-05-04T09:00:00"
    assert answer["ends_at"] == "2026-05-04T09:07:59"
    assert answer["duration_s"] == 479.0
    assert answer["mean_rate_kg_per_min"] == pytest.approx(3 / (479 / 60), abs=1e-4)
    assert answer["anomalies"] == []


def test_a_log_without_a_unit_is_refused_with_one_object():
    finished = run_weigh("-", log="0,12.5\n1,12.5\n2,12.6\n")

    assert finished.returncode == 2
    assert finished.stdout == ""
    assert json.loads(finished.stderr) == {
        "error": {"field": "unit", "value": None, "expected": "the unit of the weights: kg, g, lb or oz"}
    }


def test_a_direction_that_the_log_contradicts_is_refused():
    finished = run_weigh("-", "--direction", "out")

    assert finished.returncode == 2
    assert json.loads(finished.stderr)["error"] == {
        "field": "direction",
        "value": "out",
        "expected": "in: the weight rose by 3.000 kg",
    }
