"""Hand-computed leak rates of the US federal rules, asked of the `assess` command in each appliance category."""

import tomllib
from decimal import Decimal
from pathlib import Path

import pytest

from tests.oracle.contract import assess_json

EXAMPLES = tomllib.loads(
    (Path(__file__).parent / "us_federal_leak_rates.toml").read_text(encoding="utf-8"), parse_float=Decimal
)["example"]

# 40 CFR 82.157(c)(2) and 84.106(c)(2).
THRESHOLDS = {"comfort_cooling": 10, "commercial_refrigeration": 20, "industrial_process_refrigeration": 30}


def answer_in_category(example, category):
    return assess_json(
        {
            "as_of": "2028-12-31",
            "rules": ["us-federal"],
            "appliance": {
                "category": category,
                "residential_or_light_commercial": False,
                "refrigerant": example["refrigerant"],
                "full_charge": {"value": example["full_charge_lb"], "unit": "lb"},
                "installed_on": None,
                "leak_rate_method": example["method"],
            },
            "facts": example["facts"],
        }
    )


@pytest.mark.parametrize("category", THRESHOLDS)
@pytest.mark.parametrize("example", EXAMPLES, ids=lambda example: example["id"])
def test_leak_rate_is_the_worked_figure(example, category):
    answer = answer_in_category(example, category)

    rows = [row for row in answer["leak_rates"] if row["rule"] == example["rule"]]
    assert [row["on"] for row in rows] == [row["on"] for row in example["rows"]]
    for row, expected in zip(rows, example["rows"], strict=True):
        assert row["percent"] == expected["percent"], example["source"]
        assert row["method"] == example["method"]
        assert row["days"] == expected.get("days", row["days"])
        assert row["added"]["mg"] == expected.get("added_mg", row["added"]["mg"])
    over = example["over"][list(THRESHOLDS).index(category)]
    assert rows[-1]["threshold_percent"] == THRESHOLDS[category]
    assert rows[-1]["exceeds"] is over


@pytest.mark.parametrize("example", EXAMPLES, ids=lambda example: example["id"])
def test_leak_rate_over_the_threshold_starts_a_repair_clock_and_none_other_does(example):
    answer = answer_in_category(example, "comfort_cooling")

    rows = [row for row in answer["leak_rates"] if row["rule"] == example["rule"]]
    opened = {row["opened_on"] for row in answer["obligations"] if row["kind"] == "repair"}
    assert opened <= {row["on"] for row in rows if row["exceeds"]}
    assert bool(opened) == any(row["exceeds"] for row in rows)
