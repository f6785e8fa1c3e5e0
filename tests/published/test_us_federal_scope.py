"""Which appliances the two US federal leak repair rules reach, and the rate above which each starts."""

import pytest

from tests.oracle.contract import assess_json

NEITHER: list[str] = []
OZONE_DEPLETING = ["us-federal-ods"]
HYDROFLUOROCARBON = ["us-federal-hfc"]
BOTH = ["us-federal-hfc", "us-federal-ods"]


def answer_for(refrigerant, pounds, category="commercial_refrigeration", exempt=False, facts=()):
    return assess_json(
        {
            "as_of": "2026-12-31",
            "rules": ["us-federal"],
            "appliance": {
                "category": category,
                "residential_or_light_commercial": exempt,
                "refrigerant": refrigerant,
                "full_charge": {"value": pounds, "unit": "lb"},
                "installed_on": "2018-04-01",
                "leak_rate_method": "annualizing",
            },
            "facts": list(facts),
        }
    )


@pytest.mark.parametrize(
    ("refrigerant", "pounds", "rules"),
    [
        # 40 CFR 82.157(a): 50 or more pounds of a class I or class II refrigerant or blend containing one.
        # 40 CFR 84.106(a)(3)(i): not what contains solely class I or class II substances.
        ("R-22", 50, OZONE_DEPLETING),
        ("R-22", 49.99, NEITHER),
        ("R-22", 15, NEITHER),
        ("R-123", 5000, OZONE_DEPLETING),
        ("R-11", 50, OZONE_DEPLETING),
        ("R-12", 50, OZONE_DEPLETING),
        ("R-502", 50, OZONE_DEPLETING),
        ("R-409A", 60, OZONE_DEPLETING),
        # A blend of both kinds isn't solely ozone-depleting: both rules (read from the text).
        ("R-402A", 50, BOTH),
        ("R-402A", 49.99, HYDROFLUOROCARBON),
        ("R-402A", 15, HYDROFLUOROCARBON),
        ("R-402A", 14.99, NEITHER),
        ("R-401A", 60, BOTH),
        ("R-408A", 60, BOTH),
        ("R-500", 60, BOTH),
        # 40 CFR 84.106(a)(1): 15 or more pounds of a regulated substance; no test of its warming potential.
        ("R-410A", 15, HYDROFLUOROCARBON),
        ("R-410A", 14.99, NEITHER),
        ("R-410A", 5000, HYDROFLUOROCARBON),
        ("R-404A", 15, HYDROFLUOROCARBON),
        ("R-32", 15, HYDROFLUOROCARBON),
        ("R-134a", 15, HYDROFLUOROCARBON),
        ("R-454B", 15, HYDROFLUOROCARBON),
        ("R-454C", 15, HYDROFLUOROCARBON),
        ("R-513A", 15, HYDROFLUOROCARBON),
        # 40 CFR 84.106(a)(2): substitutes over 53 in table 1 of 84.64(b); these have no more.
        ("R-744", 5000, NEITHER),
        ("R-717", 5000, NEITHER),
        ("R-290", 100, NEITHER),
        ("R-1234yf", 100, NEITHER),
    ],
)
def test_rule_reaches_the_appliance(refrigerant, pounds, rules):
    answer = answer_for(refrigerant, pounds)

    assert sorted(row["rule"] for row in answer["applies"]) == rules


@pytest.mark.parametrize(
    ("refrigerant", "rules"), [("R-410A", NEITHER), ("R-402A", OZONE_DEPLETING), ("R-22", OZONE_DEPLETING)]
)
def test_residential_and_light_commercial_is_outside_the_newer_rule_alone(refrigerant, rules):
    # 40 CFR 84.106(a)(3)(ii).
    answer = answer_for(refrigerant, 60, category="comfort_cooling", exempt=True)

    assert sorted(row["rule"] for row in answer["applies"]) == rules


@pytest.mark.parametrize("rule_and_refrigerant", [("us-federal-ods", "R-22"), ("us-federal-hfc", "R-404A")])
@pytest.mark.parametrize(
    ("category", "threshold"),
    [
        # 40 CFR 82.157(c)(2) and 84.106(c)(2).
        ("industrial_process_refrigeration", 30),
        ("commercial_refrigeration", 20),
        ("comfort_cooling", 10),
        ("refrigerated_transport", 10),
        ("other", 10),
    ],
)
def test_threshold_of_the_category_is_strict(rule_and_refrigerant, category, threshold):
    rule, refrigerant = rule_and_refrigerant

    def row(pounds):
        fact = {"on": "2026-06-01", "kind": "addition", "mass": {"value": pounds, "unit": "lb"}}
        answer = answer_for(refrigerant, 100, category=category, facts=[fact])
        (only,) = [row for row in answer["leak_rates"] if row["rule"] == rule]
        return only

    # One addition in a year or more of 100 lb: pounds are percent.
    assert row(threshold)["threshold_percent"] == threshold
    assert row(threshold)["percent"] == threshold
    assert row(threshold)["exceeds"] is False
    assert row(threshold + 0.01)["exceeds"] is True


@pytest.mark.parametrize("rules", [["us-federal"], ["us-federal", "us-california", "eu", "uk"]])
def test_answers_of_the_federal_rules_dont_depend_on_the_others(rules):
    fact = {"on": "2026-06-01", "kind": "addition", "mass": {"value": 30, "unit": "lb"}}
    request = {
        "as_of": "2026-12-31",
        "rules": rules,
        "appliance": {
            "category": "commercial_refrigeration",
            "refrigerant": "R-404A",
            "full_charge": {"value": 100, "unit": "lb"},
            "installed_on": None,
            "leak_rate_method": "annualizing",
        },
        "facts": [fact],
    }

    answer = assess_json(request)

    federal = [row for row in answer["leak_rates"] if row["rule"].startswith("us-federal")]
    assert [(row["rule"], row["percent"]) for row in federal] == [("us-federal-hfc", 30)]
    kinds = {row["kind"] for row in answer["obligations"] if row["rule"] == "us-federal-hfc"}
    assert {"repair", "initial_verification_test", "record_retention"} <= kinds
