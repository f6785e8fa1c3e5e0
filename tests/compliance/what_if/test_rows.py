"""The rows of the page: every kind of fact has its boxes and words, and what is wrong shows at its box."""

import pytest
from django.urls import reverse

from compliance.forms.what_if.boxes import BOXES
from compliance.rulebook.facts import FactKind
from compliance.rulebook.parse_facts import fact_keys
from compliance.selectors.fact_words import FACT_GROUPS, FACT_KINDS, fact_in_words
from compliance.selectors.what_if import FACTS_MAX, CaseRefused, what_if
from tests.compliance.what_if.asking import added, ask, closed, row, shown_case, words

pytestmark = pytest.mark.django_db

MASS = {"mass_value": "3", "mass_ounces": "", "mass_unit": "lb"}

# One row of each kind as it is typed, what its fact holds beside day and kind, and how its line reads.
FILLED = {
    "addition": (
        {**MASS, "reason": "seasonal_variance", "leak": "A"},
        {"mass": {"value": 3, "unit": "lb"}, "reason": "seasonal_variance", "leak": "A"},
        "Refrigerant added, 3 lb, seasonal variance, leak A",
    ),
    "removal": (
        {**MASS, "mass_unit": "kg", "reason": "disposal"},
        {"mass": {"value": 3, "unit": "kg"}, "reason": "disposal"},
        "Refrigerant taken out, 3 kg, disposal of the appliance",
    ),
    "leak_inspection": ({"leaks_found": "0"}, {"leaks_found": 0}, "Leak inspection, leaks found: 0"),
    "repair": ({"evacuated": "on"}, {"evacuated": True}, "Leak repaired, evacuated for it"),
    "initial_verification_test": (
        {"passed": "no"},
        {"passed": False},
        "Initial verification test, failed",
    ),
    "normal_operation": ({}, {}, "Back to normal operating conditions"),
    "follow_up_verification_test": (
        {"passed": "yes"},
        {"passed": True, "all_leaks": False},
        "Follow-up verification test, passed, not every leak",
    ),
    "industrial_process_shutdown_required": ({}, {}, "Repair needs an industrial process shutdown"),
    "mothballed": ({}, {}, "Mothballed"),
    "returned_to_service": ({}, {}, "Returned to service"),
    "full_charge_change": (
        {"full_charge_value": "3", "full_charge_ounces": "4.5", "full_charge_unit": "lb+oz"},
        {"full_charge": {"lb": 3, "oz": 4.5}},
        "Full charge changed, 3 lb 4.5 oz",
    ),
    "extension": (
        {"obligation": "repair", "basis": "radiological", "until": "2026-06-01"},
        {"obligation": "repair", "basis": "radiological", "until": "2026-06-01"},
        "Longer time for a repair or test, leak repair, radiological contamination of the site, until 2026-06-01",
    ),
    "retrofit_or_retirement_elected": ({}, {}, "Retrofit or retirement chosen"),
    "retrofit_or_retirement_plan": ({}, {}, "Retrofit or retirement plan made"),
    "retrofitted": (
        {"refrigerant": "R-454B", "full_charge_value": "50", "full_charge_unit": "lb"},
        {"refrigerant": "R-454B", "full_charge": {"value": 50, "unit": "lb"}},
        "Retrofitted, 50 lb, R-454B",
    ),
    "retired": ({}, {}, "Retired"),
    "relief_requested": ({}, {}, "Relief from the plan asked for"),
    "plan_extension": (
        {"until": "2027-06-01", "basis": "No parts"},
        {"until": "2027-06-01", "basis": "No parts"},
        "Longer time for the plan’s work asked for, No parts, until 2027-06-01",
    ),
    "agency_answer": ({"granted": "no"}, {"granted": False}, "Agency answered, refused"),
    "automatic_leak_detection": (
        {"type": "direct"},
        {"type": "direct"},
        "Automatic leak detection installed, direct",
    ),
    "leak_detection_calibration": ({}, {}, "Automatic leak detection calibrated"),
    "chronic_leak_report_filed": ({"year": "2025"}, {"year": 2025}, "Chronic leak report sent, 2025"),
    "annual_report_filed": ({"year": "2025"}, {"year": 2025}, "Annual report sent to the state, 2025"),
    "leak_rate_method_change": (
        {"leak_rate_method": "rolling_average"},
        {"leak_rate_method": "rolling_average"},
        "Leak rate method changed, rolling average from then on",
    ),
}


@pytest.fixture(autouse=True)
def _signed_in(client, officer):
    client.force_login(officer)


def test_every_kind_and_every_key_of_the_rulebook_has_its_words_and_its_box():
    assert set(FACT_KINDS) == set(FactKind) == {FactKind(kind) for kind in FILLED}
    assert sorted(kind for _, kinds in FACT_GROUPS for kind in kinds) == sorted(FactKind)
    assert {key.name for kind in FactKind for key in fact_keys(kind)} == set(BOXES)


@pytest.mark.parametrize("kind", FILLED)
def test_a_row_of_each_kind_becomes_its_fact_and_its_line(client, kind):
    boxes, keys, line = FILLED[kind]

    response = ask(client, row(0, kind, "2026-03-02", **boxes))

    [fact] = shown_case(response)["facts"]
    assert fact == {"on": "2026-03-02", "kind": kind, **keys}
    assert line in words(response)


@pytest.mark.parametrize("kind", FILLED)
def test_a_line_opens_with_what_it_said(client, kind):
    boxes, keys, _ = FILLED[kind]

    opened = ask(client, closed(0, kind=kind, **keys), do="change-0")

    [line] = opened.context["page"].rows
    assert line.form.kind == kind
    for name in ("reason", "leak", "basis", "obligation", "refrigerant", "type", "year", "until", "passed"):
        if name in boxes:
            assert str(line.form[name].value()) == boxes[name]
    if "mass" in keys:
        assert line.form["mass"].value().value == str(keys["mass"]["value"])


@pytest.mark.parametrize(
    ("boxes", "box", "message"),
    [
        (added(0, "2026-03-02", "-7"), "mass", "Expected a mass of zero or more. You gave “-7”."),
        (added(0, "2026-03-02", "ten"), "mass", "Expected a number. You gave “ten”."),
        (added(0, "2 March", "7"), "on", "Expected a date such as 2026-03-02. You gave “2 March”."),
        (
            added(0, "2026-03-02", "7", purged_and_destroyed_value="8", purged_and_destroyed_unit="lb"),
            "purged_and_destroyed",
            "Expected no more than the mass added. You gave “8 lb”.",
        ),
        (row(0, "repair", "2226-03-02"), "on", "Expected a date written YYYY-MM-DD, from 1900-01-01"),
        (row(0, "initial_verification_test", "2026-03-02"), "passed", "Choose passed or failed."),
        (
            row(0, "extension", "2026-03-02", obligation="repair", basis="radiological"),
            "until",
            "Expected a value; it is missing. You gave nothing.",
        ),
        (
            row(0, "extension", "2026-03-02", obligation="repair", basis="parts", until="2026-05-01"),
            "until",
            "Expected no such key with the basis parts; it takes delivered_on. You gave “2026-05-01”.",
        ),
        (
            row(0, "chronic_leak_report_filed", "2026-03-02", year="99"),
            "year",
            "1900 or more. You gave “99”.",
        ),
    ],
)
def test_what_is_wrong_shows_at_its_row_and_box_and_nothing_is_lost(client, boxes, box, message):
    response = ask(client, closed(5), boxes, full_charge_value="77")

    form = response.context["page"].rows[0].form
    assert message in " ".join(form.errors[box])
    text = words(response)
    assert "Not answered yet. Nothing you typed is lost. Please look at 1 thing:" in text
    assert f"{form.name}: {form[box].label}" in text
    assert "facts-5-json" in response.text
    assert 'value="77"' in response.text


def test_what_is_wrong_with_the_question_shows_at_its_box(client):
    response = ask(client, as_of="soon", rules=[], refrigerant="R-999", full_charge_value="0")

    assert set(response.context["page"].case_form.errors) == {"as_of", "rules", "refrigerant", "full_charge"}
    assert "Please look at 4 things:" in words(response)


@pytest.mark.parametrize("sent", ["{", "[]", '{"kind": "retired"}', '{"kind": "flown", "on": "2026-03-02"}'])
def test_a_line_that_was_tampered_with_is_named(client, sent):
    response = ask(client, {"facts-3-json": sent}, row(4, "flown", "2026-03-02"))

    text = words(response)
    assert "Fact 4 : Expected" in text
    assert "Fact 5 : Expected" in text


def test_a_page_takes_so_many_facts_and_no_more(client):
    facts = [{"on": "2026-03-02", "kind": "retired"}] * (FACTS_MAX + 1)
    case = shown_case(ask(client))

    assert len(what_if({**case, "facts": facts[1:]}).case["facts"]) == FACTS_MAX
    with pytest.raises(CaseRefused, match="at most 500 facts"):
        what_if({**case, "facts": facts})


def test_a_full_page_says_so_and_keeps_what_it_holds(client):
    lines = [closed(place) for place in range(FACTS_MAX)]

    response = ask(client, *lines, do="add", new_kind="repair")

    assert len(response.context["page"].rows) == FACTS_MAX
    assert "This page takes no more facts." in words(response)


@pytest.mark.parametrize("headers", [{}, {"HX-Request": "true"}])
def test_so_many_rows_stand_open_and_no_more(client, headers):
    fields = {}
    for place in range(40):
        fields |= added(place, "2026-03-02", "1")

    for action in ({"do": "add", "new_kind": "repair"}, {"do": "change-90", **closed(90)}):
        response = client.post(reverse("what-if"), {**fields, **action}, headers=headers)

        assert "Expected at most 40 facts open at once." in words(response)
        assert "facts-90-on" not in response.text


def test_a_line_speaks_of_yes_and_no_as_the_document_may(client):
    del client
    fact = {"kind": "leak_inspection", "on": "2026-03-02"}

    assert [fact_in_words({**fact, "leaks_found": found}) for found in (True, False, 2, None)] == [
        "Leak inspection, leaks found: yes",
        "Leak inspection, leaks found: no",
        "Leak inspection, leaks found: 2",
        "Leak inspection",
    ]


def test_grounds_are_told_in_words_and_keep_their_names():
    more_time = {"on": "2026-03-03", "kind": "extension", "obligation": "repair"}
    of_plan = {"on": "2026-03-03", "kind": "plan_extension", "basis": "custom_built", "until": "2027-09-01"}

    assert fact_in_words({**more_time, "basis": "california_technician"}).endswith(
        "leak repair, no certified technician is to be had in time (California)"
    )
    assert ", custom built, until 2027-09-01" in fact_in_words(of_plan)


def test_a_ground_of_california_takes_no_day(client):
    boxes = row(
        1, "extension", "2026-03-03", obligation="repair", basis="california_technician", until="2026-05-01"
    )

    response = ask(client, closed(0), boxes, rules=["us-california"])

    assert "its days run from the detection of the leak. You gave “2026-05-01”." in words(response)
