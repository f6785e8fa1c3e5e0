"""The page: laying out a history row by row, its answer, its links, and that nothing of it is stored."""

from hashlib import sha256

import pytest
from django.apps import apps
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from tests.compliance.what_if.asking import PAGE, added, ask, closed, row, shown_case, words

pytestmark = pytest.mark.django_db


@pytest.fixture
def _signed_in(client, technician_user):
    client.force_login(technician_user)


@pytest.mark.parametrize("person", ["admin", "technician_user", "officer"])
def test_each_role_may_open_it(client, person, request):
    client.force_login(request.getfixturevalue(person))

    assert client.get(PAGE).status_code == 200


def test_a_person_without_a_role_may_not(client, stranger):
    client.force_login(stranger)

    assert client.get(PAGE).status_code == 403
    assert client.post(PAGE).status_code == 403


@pytest.mark.usefixtures("_signed_in")
def test_it_says_that_it_is_hypothetical_stores_nothing_and_is_no_advice(client):
    text = words(client.get(PAGE))

    assert "Only a what-if. Nothing on this page is stored. It informs; it is no legal advice." in text
    assert "No answer yet" in text


@pytest.mark.usefixtures("_signed_in")
def test_a_history_over_the_threshold_is_answered_with_its_clock(client):
    """40 CFR 84.106(b)(1): 12 lb of 100 lb over 365 days; (c)(2)(iii) 10 %; (d)(1) 30 days from 2026-03-02."""
    text = words(ask(client, added(0, "2026-03-02", "12")))

    assert "12.00 %" in text
    assert "Over the 10 % threshold" in text
    assert "12.000 / 100.000 × 365 / 365 × 100 = 12.00 %" in text
    assert "Due by Wednesday, 2026-04-01" in text
    assert "153 days overdue" in text
    assert "40 CFR 84.106(d)" in text
    assert "US federal, HFCs and substitutes Applies" in text
    assert "US federal, ozone-depleting refrigerants Doesn’t apply" in text


@pytest.mark.usefixtures("_signed_in")
def test_the_answer_has_an_address_that_gives_it_again(client):
    answered = ask(client, added(0, "2026-03-02", "12"))
    [(address, status)] = answered.redirect_chain

    again = client.get(address)

    assert (status, again.status_code) == (302, 200)
    assert shown_case(again) == shown_case(answered)
    assert words(again).endswith(words(answered)[-500:])


@pytest.mark.usefixtures("_signed_in")
def test_a_history_too_long_for_an_address_is_answered_where_it_was_sent(client):
    answered = ask(client, *(closed(place, event=sha256(bytes([place])).hexdigest()) for place in range(200)))

    assert answered.redirect_chain == []
    assert "too long for a link" in words(answered)
    assert len(shown_case(answered)["facts"]) == 200
    assert "185 earlier" in words(answered)


@pytest.mark.usefixtures("_signed_in")
def test_facts_find_their_place_by_date_and_those_of_a_day_keep_their_order(client):
    rows = (added(3, "2026-03-02", "2"), row(7, "repair", "2026-02-01"), added(12, "2026-03-02", "1"))

    facts = shown_case(ask(client, *rows))["facts"]

    assert [(fact["on"], fact.get("mass", {}).get("value")) for fact in facts] == [
        ("2026-02-01", None),
        ("2026-03-02", 2),
        ("2026-03-02", 1),
    ]


@pytest.mark.usefixtures("_signed_in")
def test_a_row_is_added_opened_and_removed_without_a_script(client):
    started = ask(client, do="add", new_kind="addition")
    assert 'name="facts-0-mass_value"' in started.text
    assert "Expected" not in words(started)

    opened = ask(client, closed(4), do="change-4")
    assert 'name="facts-4-mass_value" value="12"' in opened.text
    assert 'name="full_charge_value" value="100"' in opened.text

    removed = ask(client, closed(4), closed(5), do="remove-4")
    assert "facts-4-" not in removed.text
    assert "facts-5-json" in removed.text


@pytest.mark.usefixtures("_signed_in")
def test_a_script_gets_the_row_alone(client):
    fields = {
        "do": "add",
        "new_kind": "agency_answer",
        "facts-8-json": '{"on":"2026-03-02","kind":"retired"}',
    }

    fragment = client.post(reverse("what-if"), fields, headers={"HX-Request": "true"}).text

    assert fragment.strip().startswith("<li")
    assert fragment.count("autofocus") == 1
    assert 'name="facts-9-granted"' in fragment
    assert "<html" not in fragment


@pytest.mark.usefixtures("_signed_in")
def test_the_example_is_an_answered_history(client):
    text = words(client.get(f"{PAGE}?example"))

    assert "11.67 %" in text
    assert "Follow-up verification test" in text


@pytest.mark.usefixtures("_signed_in")
def test_the_answer_is_sketched_for_a_desk_and_a_phone(client):
    """The rates as dots, the clocks as bars, and the same told in words to those who don't see it."""
    rows = (added(0, "2026-03-02", "12"), row(1, "repair", "2026-03-10"), added(2, "2026-03-20", "0.01"))
    text = ask(client, *rows).text

    assert text.count('<svg class="chart"') == 2
    assert "2 leak rates, 1 of them over the threshold, and the clocks that ran." in text
    assert (text.count("chart-dot-danger"), text.count("chart-span-second")) == (4, 2)


@pytest.mark.usefixtures("_signed_in")
def test_a_date_that_rests_on_memory_says_so(client):
    """The European leak check intervals of fixtures/rules/eu.toml that are marked as recalled from memory, if any."""
    response = ask(client, rules=["eu", "uk"], refrigerant="R-410A", installed_on="2025-01-15")
    unconfirmed = [row for row in response.context["result"].pending if not row.obligation.is_confirmed]

    assert words(response).count("Rests on an unconfirmed source") == len(unconfirmed)


@pytest.mark.usefixtures("_signed_in")
def test_nothing_is_stored(client):
    def counts():
        return {model: model._base_manager.count() for model in apps.get_models()}

    client.get(PAGE)
    session = dict(client.session)
    before = counts()

    with CaptureQueriesContext(connection) as asked:
        ask(client, added(0, "2026-03-02", "12"))
        ask(client, {"json": "{"}, do="read")
        ask(client, do="add", new_kind="repair")

    verbs = {query["sql"].split()[0] for query in asked}
    assert verbs <= {"SELECT", "SAVEPOINT", "RELEASE"}
    assert counts() == before
    assert dict(client.session) == session
