"""California: annual reports (17 CCR 95388), inspections at large additions and start-ups (95385(d), (e)).

The inspections are from memory: their obligations say so.
"""

import pytest

from tests.compliance.rulebook.scenario import added, ask, brief, fact, only, removed, rows

STORE = {
    "rules": ("us-california",),
    "category": "commercial_refrigeration",
    "refrigerant": "R-404A",
    "installed_on": "2020-01-15",
}
INSPECTED = fact("leak_inspection", "2026-02-01")


def at_addition(answer):
    return [row for row in rows(answer, "leak_inspection") if row.citation == "17 CCR 95385(d)"]


@pytest.mark.parametrize(
    ("charge", "pounds", "is_owed"),
    [(300, "4.99", False), (300, 5, True), (1000, 9, False), (1000, 10, True), (1000, "9.999", False)],
)
def test_an_addition_of_5_lb_or_1_percent_asks_for_an_inspection(charge, pounds, is_owed):
    answer = ask([INSPECTED, added("2026-03-01", pounds)], **STORE, full_charge=charge, as_of="2026-03-02")

    assert [(brief(row), row.is_confirmed) for row in at_addition(answer)] == (
        [(("2026-03-01", "2026-03-01", "overdue"), False)] if is_owed else []
    )


@pytest.mark.parametrize(("on", "status"), [("2026-03-01", "met"), ("2026-03-02", "met_late")])
def test_the_inspection_belongs_to_the_visit(on, status):
    facts = [INSPECTED, added("2026-03-01", 50, event="E1"), fact("leak_inspection", on, event="E2")]

    (row,) = at_addition(ask(facts, **STORE, full_charge=300, as_of="2026-03-10"))

    assert (row.status, row.opened_by_event, row.met_by_event) == (status, "E1", "E2")


@pytest.mark.parametrize("reason", ["installation", "retrofit"])
def test_a_first_charge_asks_for_none(reason):
    facts = [added("2026-03-01", 300, reason=reason)]

    assert at_addition(ask(facts, **STORE, full_charge=300)) == []


def test_what_was_taken_out_and_put_back_counts_by_its_net():
    facts = [removed("2026-03-01", 46, event="E1"), added("2026-03-01", 50, event="E1")]

    assert at_addition(ask(facts, **STORE, full_charge=300)) == []


def test_a_return_to_service_asks_for_an_inspection_within_30_days():
    facts = [
        fact("returned_to_service", "2026-02-02"),
        fact("mothballed", "2026-02-10"),
        fact("returned_to_service", "2026-05-01"),
        fact("leak_inspection", "2026-05-31"),
    ]

    answer = ask(facts, **STORE, full_charge=300, as_of="2026-06-01")

    (row,) = [row for row in rows(answer, "leak_inspection") if row.citation == "17 CCR 95385(e)"]
    assert brief(row) == ("2026-05-01", "2026-05-31", "met")


@pytest.mark.parametrize(("charge", "count"), [(199, 0), (200, 2), (1999, 2), (2000, 2)])
def test_medium_and_large_systems_report_each_year_by_1_march(charge, count):
    answer = ask([fact("leak_inspection", "2024-06-01")], **STORE, full_charge=charge, as_of="2026-02-15")

    assert [brief(row) for row in rows(answer, "annual_report")] == [
        ("2025-01-01", "2025-03-01", "overdue"),
        ("2026-01-01", "2026-03-01", "open"),
    ][:count]


def test_the_size_at_the_years_end_counts():
    grown = fact("full_charge_change", "2025-12-31", full_charge={"value": 250, "unit": "lb"})

    answer = ask([fact("leak_inspection", "2024-06-01"), grown], **STORE, full_charge=150, as_of="2026-02-15")

    assert brief(only(answer, "annual_report")) == ("2026-01-01", "2026-03-01", "open")


@pytest.mark.parametrize(("on", "status"), [("2026-03-01", "met"), ("2026-03-02", "met_late")])
def test_a_filed_report_meets_its_own_year(on, status):
    facts = [fact("leak_inspection", "2025-06-01"), fact("annual_report_filed", on, year=2025, event="R1")]

    row = only(ask(facts, **STORE, full_charge=300), "annual_report")

    assert (row.status, row.met_by_event) == (status, "R1")


def test_a_year_after_retirement_has_no_report():
    facts = [fact("leak_inspection", "2024-06-01"), fact("retired", "2025-01-10")]

    answer = ask(facts, **STORE, full_charge=300, as_of="2027-06-01")

    assert [str(row.due_on) for row in rows(answer, "annual_report")] == ["2025-03-01", "2026-03-01"]


def test_without_a_record_no_year_is_known():
    assert rows(ask([], **STORE, full_charge=300), "annual_report") == []


def test_the_verdict_says_when_the_facility_registers():
    (verdict,) = ask([], **STORE, full_charge=300).applies

    assert "by 2021-03-01 (17 CCR 95383)" in verdict.because
