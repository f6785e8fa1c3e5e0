"""The page's JSON and the command ``assess``: one question, one answer, whichever way it is asked."""

import json
import tomllib
from decimal import Decimal
from pathlib import Path

import pytest

from compliance.rulebook.answer import answer_json
from tests.compliance.what_if.asking import PAGE, added, ask, closed, row, shown_case, shown_json, words
from tests.oracle.contract import run_assess

pytestmark = pytest.mark.django_db

EXAMPLES = tomllib.loads(
    Path("tests/published/us_federal_leak_rates.toml").read_text(encoding="utf-8"), parse_float=Decimal
)["example"]


@pytest.fixture(autouse=True)
def _signed_in(client, officer):
    client.force_login(officer)


def _command(text):
    status, out, err = run_assess(text)
    assert status == 0, err
    return json.loads(out)


def _page(response):
    return json.loads(answer_json(response.context["result"].answer))


def _addition(place, fact):
    return added(place, fact["on"], str(fact["mass"]["value"])) | {
        f"facts-{place}-reason": fact.get("reason", "service"),
        f"facts-{place}-leak": fact.get("leak", ""),
        f"facts-{place}-event": fact.get("event", ""),
    }


@pytest.mark.parametrize("example", [EXAMPLES[0], EXAMPLES[3]], ids=["A1", "A4"])
def test_a_worked_figure_typed_into_the_page_comes_out(client, example):
    """The examples' sources stand beside them: computed by hand from the formula of 40 CFR 82.152 as stated."""
    rows = [_addition(place, fact) for place, fact in enumerate(example["facts"])]
    response = ask(
        client,
        *rows,
        refrigerant=example["refrigerant"],
        full_charge_value=str(example["full_charge_lb"]),
        installed_on="",
    )

    [expected] = example["rows"]
    rates = [rate for rate in _page(response)["leak_rates"] if rate["rule"] == example["rule"]]
    assert [(rate["on"], rate["days"]) for rate in rates] == [(expected["on"], expected["days"])]
    assert rates[0]["percent"] == float(expected["percent"])
    assert f"{expected['percent']:.2f} %" in words(response)
    assert _command(shown_json(response)) == _page(response)


def test_the_command_answers_the_pages_json_as_the_page_does(client):
    history = (
        added(0, "2026-02-11", "7.25", purged_and_destroyed_value="1", purged_and_destroyed_unit="oz"),
        row(
            1, "removal", "2026-02-11", mass_value="3", mass_ounces="4.5", mass_unit="lb+oz", reason="service"
        ),
        added(2, "2026-03-02", "12", leak="A", event="Visit"),
        row(3, "repair", "2026-03-10", leak="A", evacuated="on"),
        row(4, "initial_verification_test", "2026-03-10", passed="yes", leak="A"),
        row(5, "normal_operation", "2026-03-12"),
        row(6, "follow_up_verification_test", "2026-03-20", passed="no", leak="A"),
        row(7, "extension", "2026-03-21", obligation="repair", basis="parts", delivered_on="2026-04-20"),
    )
    rules = ["us-federal", "us-california", "eu", "uk"]

    response = ask(client, *history, rules=rules)

    answer = _command(shown_json(response))
    assert answer == _page(response)
    assert len(answer["obligations"]) > 8
    text = "".join(words(response).split())
    for obligation in answer["obligations"]:
        assert "".join(obligation["because"].split()) in text


def test_json_that_is_read_in_is_answered(client):
    given = shown_json(ask(client, added(0, "2026-03-02", "12"))).replace('"value": 12', '"value": 11.250')

    response = ask(client, {"json": given}, do="read")

    assert shown_case(response)["facts"][0]["mass"] == {"value": 11.25, "unit": "lb"}
    assert "11.25 %" in words(response)


@pytest.mark.parametrize(
    ("given", "field", "expected"),
    [
        ("{", "document:", "Expected one JSON object."),
        ("[]", "document:", "Expected an object."),
        ('{"facts": {}}', "as_of:", "it is missing"),
        ('{"as_of": "2026-03-02", "facts": [], "mass": {}}', "mass:", "Expected no such key here"),
        ('{"as_of": 1, "rules": [], "appliance": {}, "facts": [{}]}', "facts[0].kind:", "it is missing"),
    ],
)
def test_json_that_cant_be_read_says_why_and_loses_nothing(client, given, field, expected):
    response = ask(client, closed(0), {"json": given}, do="read", full_charge_value="77")

    text = words(response)
    assert field in text
    assert expected in text
    assert shown_json(response) == given
    assert "facts-0-json" in response.text
    assert 'value="77"' in response.text


def test_figures_with_more_digits_than_json_keeps_are_refused(client):
    given = shown_json(ask(client, added(0, "2026-03-02", "12")))

    response = ask(client, {"json": given.replace('"value": 12', '"value": 12.00000000000000001')}, do="read")

    assert "Expected a figure of at most 15 digits." in words(response)


def test_a_figure_of_many_digits_that_is_typed_is_written_shorter(client):
    response = ask(client, added(0, "2026-03-02", "12.00000000000000001"))

    assert shown_case(response)["facts"][0]["mass"] == {"value": 12, "unit": "lb"}
    assert _command(shown_json(response)) == _page(response)


@pytest.mark.parametrize("case", ["x", "eNq", "!!!", "eJyrrgUAAXUA-Q", "a" * 5000])
def test_a_broken_address_says_so(client, case):
    response = client.get(f"{PAGE}?case={case}")

    assert response.status_code == 200
    assert "Not answered yet." in words(response)
