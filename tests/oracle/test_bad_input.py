"""Bad input to `assess`: exit status 2, and one JSON object on standard error naming field, value and expectation."""

import copy
import json
import subprocess
import sys
from pathlib import Path

import pytest

from tests.oracle.contract import assess_json, assess_json_error, run_assess

ROOT = Path(__file__).parents[2]

GOOD = {
    "as_of": "2026-09-01",
    "rules": ["us-federal"],
    "appliance": {
        "category": "comfort_cooling",
        "residential_or_light_commercial": False,
        "refrigerant": "R-410A",
        "full_charge": {"value": 60, "unit": "lb"},
        "installed_on": "2019-05-01",
        "leak_rate_method": "annualizing",
    },
    "facts": [
        {"on": "2026-03-02", "kind": "addition", "mass": {"value": 7, "unit": "lb"}, "event": "E1"},
        {"on": "2026-03-10", "kind": "repair"},
    ],
}

MISSING = object()


def altered(path, value):
    """The good request with the value at this path replaced, or taken out."""
    request = copy.deepcopy(GOOD)
    *way, last = path
    place = request
    for step in way:
        place = place[step]
    if value is MISSING:
        del place[last]
    else:
        place[last] = value
    return request


def with_fact(**fact):
    return altered(("facts",), [*GOOD["facts"], fact])


@pytest.mark.parametrize(
    ("path", "value", "field"),
    [
        (("as_of",), MISSING, "as_of"),
        (("as_of",), "2026-02-29", "as_of"),
        (("as_of",), "01/09/2026", "as_of"),
        (("as_of",), "20260901", "as_of"),
        (("as_of",), 20260901, "as_of"),
        (("as_of",), None, "as_of"),
        (("rules",), MISSING, "rules"),
        (("rules",), ["us-oregon"], "rules"),
        (("rules",), "us-federal", "rules"),
        (("facts",), MISSING, "facts"),
        (("facts",), {}, "facts"),
        (("appliance",), MISSING, "appliance"),
        (("appliance",), [], "appliance"),
        (("appliance", "category"), MISSING, "category"),
        (("appliance", "category"), "chiller", "category"),
        (("appliance", "refrigerant"), MISSING, "refrigerant"),
        (("appliance", "refrigerant"), "R-9999", "refrigerant"),
        (("appliance", "refrigerant"), 22, "refrigerant"),
        (("appliance", "full_charge"), MISSING, "full_charge"),
        (("appliance", "full_charge"), {"value": 0, "unit": "lb"}, "full_charge"),
        (("appliance", "full_charge"), {"value": -60, "unit": "lb"}, "full_charge"),
        (("appliance", "full_charge"), {"value": 60, "unit": "stone"}, "full_charge"),
        (("appliance", "full_charge"), {"value": 60}, "full_charge"),
        (("appliance", "full_charge"), {"value": "sixty", "unit": "lb"}, "full_charge"),
        (("appliance", "full_charge"), 60, "full_charge"),
        (("appliance", "full_charge"), {"lb": 3, "oz": -1}, "full_charge"),
        (("appliance", "full_charge"), {"value": True, "unit": "lb"}, "full_charge"),
        (("appliance", "leak_rate_method"), MISSING, "leak_rate_method"),
        (("appliance", "leak_rate_method"), "guess", "leak_rate_method"),
        (("appliance", "installed_on"), "2019-13-01", "installed_on"),
        (("appliance", "residential_or_light_commercial"), "no", "residential_or_light_commercial"),
        (("facts", 0, "on"), MISSING, "on"),
        (("facts", 0, "on"), "2026-04-31", "on"),
        (("facts", 0, "kind"), MISSING, "kind"),
        (("facts", 0, "kind"), "topping_up", "kind"),
        (("facts", 0, "mass"), MISSING, "mass"),
        (("facts", 0, "mass"), {"value": 0, "unit": "lb"}, "mass"),
        (("facts", 0, "mass"), {"value": -7, "unit": "lb"}, "mass"),
        (("facts", 0, "mass"), {"value": 7, "unit": "LB "}, "mass"),
        (("facts", 0), 7, "facts"),
    ],
)
def test_bad_value_is_named(path, value, field):
    error = assess_json_error(altered(path, value))

    assert field in error["field"]
    assert error["expected"].strip()
    assert "value" in error
    if value is not MISSING and isinstance(value, str):
        assert error["value"] == value


@pytest.mark.parametrize(
    ("fact", "field"),
    [
        ({"on": "2026-03-11", "kind": "initial_verification_test"}, "passed"),
        ({"on": "2026-03-11", "kind": "initial_verification_test", "passed": "yes"}, "passed"),
        ({"on": "2026-03-11", "kind": "follow_up_verification_test"}, "passed"),
        (
            {"on": "2026-03-11", "kind": "follow_up_verification_test", "passed": True, "all_leaks": 1},
            "all_leaks",
        ),
        ({"on": "2026-03-11", "kind": "repair", "evacuated": "yes"}, "evacuated"),
        ({"on": "2026-03-11", "kind": "removal"}, "mass"),
        (
            {
                "on": "2026-03-11",
                "kind": "removal",
                "mass": {"value": 1, "unit": "lb"},
                "reason": "installation",
            },
            "reason",
        ),
        (
            {
                "on": "2026-03-11",
                "kind": "addition",
                "mass": {"value": 1, "unit": "lb"},
                "reason": "disposal",
            },
            "reason",
        ),
        ({"on": "2026-03-11", "kind": "full_charge_change"}, "full_charge"),
        (
            {"on": "2026-03-11", "kind": "retrofitted", "full_charge": {"value": 60, "unit": "lb"}},
            "refrigerant",
        ),
        ({"on": "2026-03-11", "kind": "retrofitted", "refrigerant": "R-454B"}, "full_charge"),
        ({"on": "2026-03-11", "kind": "extension", "obligation": "repair", "basis": "holiday"}, "basis"),
        ({"on": "2026-03-11", "kind": "extension", "obligation": "repair", "basis": "radiological"}, "until"),
        ({"on": "2026-03-11", "kind": "extension", "basis": "parts"}, "obligation"),
        (
            {
                "on": "2026-03-11",
                "kind": "extension",
                "obligation": "repair",
                "basis": "california_technician",
                "until": "2026-04-01",
            },
            "until",
        ),
        ({"on": "2026-03-11", "kind": "plan_extension", "basis": "radiological"}, "until"),
        ({"on": "2026-03-11", "kind": "agency_answer"}, "granted"),
        ({"on": "2026-03-11", "kind": "automatic_leak_detection", "type": "by ear"}, "type"),
        ({"on": "2026-03-11", "kind": "chronic_leak_report_filed"}, "year"),
        ({"on": "2026-03-11", "kind": "chronic_leak_report_filed", "year": "2026"}, "year"),
        ({"on": "2030-03-11", "kind": "addition", "mass": {"value": 0, "unit": "lb"}}, "mass"),
    ],
)
def test_bad_fact_is_named(fact, field):
    error = assess_json_error(with_fact(**fact))

    assert field in error["field"]
    assert error["expected"].strip()


@pytest.mark.parametrize(
    ("request_", "key"),
    [
        (altered(("as_off",), "2026-01-01"), "as_off"),
        (altered(("appliance", "colour"), "white"), "colour"),
        (altered(("facts", 0, "weight"), 7), "weight"),
        (altered(("facts", 1, "mass"), {"value": 1, "unit": "lb"}), "mass"),
        (altered(("facts", 0, "mass"), {"value": 7, "unit": "lb", "gross": 9}), "gross"),
        (altered(("facts", 0, "mass"), {"value": 7, "unit": "lb", "lb": 7}), "mass"),
    ],
)
def test_unknown_key_is_an_error(request_, key):
    error = assess_json_error(request_)

    assert key in error["field"]


@pytest.mark.parametrize("text", ["", "{", "[]", "null", '"assess"', '{"as_of": NaN}', "\x00"])
def test_text_that_is_no_request_is_an_error(text):
    error = assess_json_error(text)

    assert set(error) == {"field", "value", "expected"}


@pytest.mark.parametrize("name", ["R-410A", "R410A", "r-410a"])
def test_designation_is_taken_in_its_usual_spellings(name):
    expected = assess_json(GOOD)["leak_rates"]

    assert assess_json(altered(("appliance", "refrigerant"), name))["leak_rates"] == expected


@pytest.mark.parametrize("name", ["R-134a", "R134a", "HFC-134a"])
def test_the_hfc_style_of_a_designation_is_taken(name):
    answer = assess_json(altered(("appliance", "refrigerant"), name))

    assert [row["rule"] for row in answer["applies"]] == ["us-federal-hfc"]


def test_half_a_surrogate_pair_breaks_nothing():
    request = altered(("facts", 0, "event"), "\ud800")

    status, out, err = run_assess(json.dumps(request))

    assert (status, bool(out), bool(err)) in {(0, True, False), (2, False, True)}


def test_installation_date_may_be_null_or_left_out_of_nothing_else():
    assert assess_json(altered(("appliance", "installed_on"), None))["leak_rates"]


@pytest.mark.parametrize(
    ("argument", "text"),
    [("-", json.dumps(GOOD)), ("-", "{"), ("no such file.json", ""), ("-", '{"as_of": 1}')],
)
def test_command_line_never_shows_a_traceback(argument, text):
    command = [sys.executable, "manage.py", "assess", argument]

    done = subprocess.run(command, input=text, capture_output=True, text=True, cwd=ROOT, check=False)

    assert "Traceback" not in done.stderr
    if text == json.dumps(GOOD):
        assert done.returncode == 0
        assert json.loads(done.stdout)["as_of"] == "2026-09-01"
    else:
        assert done.returncode == 2
        assert done.stdout == ""
        assert set(json.loads(done.stderr)["error"]) == {"field", "value", "expected"}
