"""The JSON answer: its keys, and the worked example of the command."""

import json
from datetime import date
from decimal import Decimal

from compliance.rulebook.answer import answer, answer_json, error_json
from compliance.rulebook.errors import InvalidInput
from tests.compliance.rulebook.scenario import HFC, added, ask, fact, initial_test, repaired

FACTS = [added("2026-03-02", 7, event="E1"), repaired("2026-03-10"), initial_test("2026-03-10")]


def example():
    return ask(FACTS, full_charge=60, as_of="2026-09-01")


def test_the_example_is_answered_to_the_milligram():
    document = json.loads(answer_json(example()))

    assert document["as_of"] == "2026-09-01"
    assert [item["rule"] for item in document["applies"]] == [HFC]
    (rate,) = document["leak_rates"]
    assert rate["because"] == (
        "7.000 lb added; the first calculation takes 365 days (40 CFR 84.106(b)(1)): "
        "7.000 / 60.000 × 365 / 365 × 100 = 11.67 %, over the 10 % threshold for comfort cooling (40 CFR 84.106(c)(2))."
    )
    del rate["because"]
    assert rate == {
        "on": "2026-03-02",
        "rule": HFC,
        "method": "annualizing",
        "added": {"mg": 3_175_147, "kg": 3.175, "lb": 7.0},
        "days": 365,
        "percent": 11.67,
        "threshold_percent": 10.0,
        "exceeds": True,
        "event": "E1",
    }
    assert document["headroom"]["mass"] == {"mg": 1_364_505, "kg": 1.365, "lb": 3.008}
    assert document["warnings"] == []


def test_an_obligation_has_every_key():
    document = answer(example())

    repair = next(item for item in document["obligations"] if item["kind"] == "repair")
    assert {
        key: repair[key]
        for key in ("rule", "opened_on", "due_on", "status", "met_on", "citation", "confirmed")
    } == {
        "rule": HFC,
        "opened_on": "2026-03-02",
        "due_on": "2026-04-01",
        "status": "met",
        "met_on": "2026-03-10",
        "citation": "40 CFR 84.106(d)",
        "confirmed": True,
    }
    assert "2026-03-02 + 30 days = 2026-04-01" in repair["because"]


def test_no_mass_and_no_date_are_null():
    answered = answer(ask([added("2026-03-02", 12), fact("mothballed", "2026-03-03")], as_of="2026-03-04"))
    nothing = answer(ask([], full_charge=1))

    assert answered["obligations"][0]["due_on"] is None
    assert nothing["headroom"]["mass"] is None


def test_an_error_is_one_object():
    error = InvalidInput("facts[0].mass.value", Decimal("-1.5"), "a mass above zero")

    assert json.loads(error_json(error)) == {
        "error": {"field": "facts[0].mass.value", "value": -1.5, "expected": "a mass above zero"}
    }
    assert (
        json.loads(error_json(InvalidInput("on", date(2026, 1, 1), "text")))["error"]["value"] == "2026-01-01"
    )


def test_an_error_reads_as_a_sentence():
    assert str(InvalidInput("as_of", "soon", "a date")) == "as_of: got 'soon'; expected a date."
