"""Leak inspections after an exceedance: 40 CFR 82.157(g) and 84.106(g)."""

import pytest

from tests.compliance.rulebook.scenario import (
    added,
    ask,
    brief,
    fact,
    follow_up,
    initial_test,
    repaired,
    rows,
)

INSPECTION = "leak_inspection"
BIG = {"category": "commercial_refrigeration", "full_charge": 500}
VERIFIED = [
    added("2026-02-01", 150),
    repaired("2026-02-10"),
    initial_test("2026-02-10"),
    follow_up("2026-02-15"),
]
# A second case, whose passed follow-up test begins a new count.
AGAIN = [
    added("2026-03-01", 1),
    added("2026-04-01", 150),
    repaired("2026-04-02"),
    initial_test("2026-04-02"),
    follow_up("2026-04-05"),
]


def brief_rows(facts, **keys):
    return [brief(row) for row in rows(ask(facts, **keys), INSPECTION)]


def test_hfc_refrigeration_of_500_lb_is_inspected_every_3_months_from_the_follow_up_test():
    assert brief_rows(VERIFIED, as_of="2026-06-01", **BIG) == [
        ("2026-02-15", "2026-05-15", "overdue"),
        ("2026-05-15", "2026-08-15", "open"),
    ]


def test_on_a_due_date_that_one_is_the_next():
    assert brief_rows(VERIFIED, as_of="2026-05-15", **BIG) == [("2026-02-15", "2026-05-15", "open")]


@pytest.mark.parametrize(
    ("category", "charge", "due"),
    [
        ("commercial_refrigeration", 499, "2027-02-15"),
        ("industrial_process_refrigeration", 500, "2026-05-15"),
        ("industrial_process_refrigeration", 499, "2027-02-15"),
        ("comfort_cooling", 2000, "2027-02-15"),
        ("refrigerated_transport", 500, "2027-02-15"),
        ("other", 500, "2027-02-15"),
    ],
)
def test_hfc_interval_follows_category_and_charge(category, charge, due):
    facts = [added("2026-02-01", 700), *VERIFIED[1:]]

    assert brief_rows(facts, as_of="2026-03-01", category=category, full_charge=charge)[0][1] == due


def test_no_hfc_inspection_without_a_passed_follow_up_test():
    assert brief_rows(VERIFIED[:3], as_of="2027-06-01", **BIG) == []


def test_hfc_inspections_end_after_four_quarters_without_a_rate_over():
    dues = [row[1] for row in brief_rows(VERIFIED, as_of="2028-01-01", **BIG)]

    assert dues == ["2026-05-15", "2026-08-15", "2026-11-15", "2027-02-15"]


def test_a_yearly_hfc_inspection_ends_after_one_year():
    assert brief_rows(VERIFIED, as_of="2028-06-01") == [("2026-02-15", "2027-02-15", "overdue")]


def test_a_rate_over_begins_the_four_quarters_again():
    confirmed = [*VERIFIED, added("2026-03-01", 1), added("2026-07-01", 150)]

    dues = [row[1] for row in brief_rows(confirmed, as_of="2028-06-01", **BIG)]

    assert dues == ["2026-05-15", "2026-08-15", "2026-11-15", "2027-02-15", "2027-05-15", "2027-08-15"]


def test_a_new_passed_follow_up_test_begins_a_new_grid():
    assert brief_rows([*VERIFIED, *AGAIN], as_of="2026-06-01", **BIG) == [
        ("2026-02-15", "2026-05-15", "cancelled"),
        ("2026-04-05", "2026-07-05", "open"),
    ]


@pytest.mark.parametrize(
    ("on", "statuses"),
    [
        ("2026-04-05", ["met", "overdue", "open"]),
        ("2026-04-06", ["cancelled", "met", "open"]),
        ("2026-07-06", ["cancelled", "met_late", "met"]),
    ],
)
def test_an_inspection_after_a_new_count_began_belongs_to_the_new_one(on, statuses):
    facts = [*VERIFIED, *AGAIN, fact(INSPECTION, on, leaks_found=0)]

    assert [row[2] for row in brief_rows(facts, as_of="2026-07-10", **BIG)] == statuses


def test_grid_months_clamp_to_the_end_of_february_and_return():
    facts = [
        added("2026-11-01", 150),
        repaired("2026-11-25"),
        initial_test("2026-11-25"),
        follow_up("2026-11-30"),
    ]

    dues = [row[1] for row in brief_rows(facts, as_of="2027-05-01", **BIG)]

    assert dues == ["2027-02-28", "2027-05-30"]


@pytest.mark.parametrize(
    ("on", "statuses"),
    [
        ("2026-02-15", ["overdue", "overdue", "open"]),
        ("2026-02-16", ["met", "overdue", "open"]),
        ("2026-05-15", ["met", "overdue", "open"]),
        ("2026-05-16", ["met_late", "met", "open"]),
    ],
)
def test_a_row_is_met_by_the_first_inspection_after_the_previous_due_date(on, statuses):
    facts = [*VERIFIED, fact(INSPECTION, on, leaks_found=0)]

    assert [row[2] for row in brief_rows(facts, as_of="2026-09-01", **BIG)] == statuses


ODS_BIG = {"refrigerant": "R-22", **BIG}


def test_ods_refrigeration_of_500_lb_is_inspected_every_3_months_from_the_exceedance():
    assert brief_rows([added("2026-02-01", 150)], as_of="2026-05-02", **ODS_BIG) == [
        ("2026-02-01", "2026-05-01", "overdue"),
        ("2026-05-01", "2026-08-01", "open"),
    ]


def test_ods_comfort_cooling_is_inspected_by_the_end_of_each_calendar_year():
    assert brief_rows([added("2026-02-01", 150)], refrigerant="R-22", as_of="2029-01-01") == [
        ("2026-02-01", "2026-12-31", "overdue"),
        ("2026-12-31", "2027-12-31", "overdue"),
    ]


def test_ods_inspection_on_the_day_of_the_exceedance_counts():
    facts = [fact(INSPECTION, "2026-02-01", leaks_found=1), added("2026-02-01", 150)]

    assert brief_rows(facts, refrigerant="R-22", as_of="2026-03-01") == [("2026-02-01", "2026-12-31", "met")]


def test_ods_one_inspection_on_31_december_is_not_the_next_years_too():
    facts = [added("2026-12-31", 150), fact(INSPECTION, "2026-12-31", leaks_found=1)]

    assert brief_rows(facts, refrigerant="R-22", as_of="2027-01-01") == [
        ("2026-12-31", "2026-12-31", "met"),
        ("2026-12-31", "2027-12-31", "open"),
    ]


def test_ods_inspections_begin_again_with_an_exceedance_after_they_ended():
    facts = [added("2026-02-01", 150), added("2026-03-01", 1), added("2028-02-01", 150)]

    dues = [row[1] for row in brief_rows(facts, refrigerant="R-22", as_of="2028-03-01")]

    assert dues == ["2026-12-31", "2027-12-31", "2028-12-31"]


def test_retiring_ends_the_inspections():
    assert brief_rows([*VERIFIED, fact("retired", "2026-06-01")], as_of="2026-12-01", **BIG) == [
        ("2026-02-15", "2026-05-15", "overdue"),
        ("2026-05-15", "2026-08-15", "cancelled"),
    ]


def test_an_inspection_after_retirement_meets_only_what_was_due_before():
    facts = [*VERIFIED, fact("retired", "2026-06-01"), fact(INSPECTION, "2026-06-02")]

    assert brief_rows(facts, as_of="2026-12-01", **BIG) == [
        ("2026-02-15", "2026-05-15", "met_late"),
        ("2026-05-15", "2026-08-15", "cancelled"),
    ]


DETECTION = fact("automatic_leak_detection", "2026-03-01", type="indirect")


def test_calibrated_indirect_detection_replaces_inspections_for_a_year():
    assert [row[2] for row in brief_rows([*VERIFIED, DETECTION], as_of="2027-06-01", **BIG)] == [
        "cancelled"
    ] * 4
    stale = fact("automatic_leak_detection", "2025-03-01", type="indirect")
    assert brief_rows([*VERIFIED, stale], as_of="2026-03-01", **BIG) == [("2026-02-15", "2026-05-15", "open")]


def test_an_inspection_after_the_due_date_that_detection_replaced_comes_too_late_to_meet_it():
    facts = [*VERIFIED, DETECTION, fact(INSPECTION, "2026-05-20")]

    assert [row[2] for row in brief_rows(facts, as_of="2026-06-01", **BIG)] == ["cancelled", "met"]


@pytest.mark.parametrize(("enclosed", "status", "warnings"), [(True, "cancelled", 0), (False, "open", 1)])
def test_direct_detection_replaces_inspections_only_of_an_enclosed_appliance(enclosed, status, warnings):
    facts = [*VERIFIED, fact("automatic_leak_detection", "2026-03-01", type="direct")]

    answer = ask(facts, as_of="2026-04-01", enclosed=enclosed, **BIG)

    assert [row.status for row in rows(answer, INSPECTION)] == [status]
    assert len(answer.warnings) == warnings


def test_detection_is_calibrated_every_year():
    facts = [
        DETECTION,
        fact("leak_detection_calibration", "2027-03-02"),
        fact("leak_detection_calibration", "2028-02-01"),
    ]

    answer = ask(facts, as_of="2028-03-01")

    assert [brief(row) for row in rows(answer, "leak_detection_calibration")] == [
        ("2026-03-01", "2027-03-01", "met_late"),
        ("2027-03-02", "2028-03-02", "met"),
        ("2028-02-01", "2029-02-01", "open"),
    ]


LARGE = {"category": "industrial_process_refrigeration", "full_charge": 1500}


@pytest.mark.parametrize(
    ("installed", "expected"),
    [
        ("2016-12-31", []),
        ("2017-01-01", [("2026-01-01", "2027-01-01", "open")]),
        ("2025-12-31", [("2026-01-01", "2027-01-01", "open")]),
        ("2026-03-01", [("2026-03-01", "2026-03-31", "overdue")]),
        (None, []),
    ],
)
def test_detection_is_asked_for_at_1500_lb_by_the_date_of_installation(installed, expected):
    answer = ask([], installed_on=installed, **LARGE)

    found = rows(answer, "automatic_leak_detection")
    assert [brief(row) for row in found] == expected
    assert not any(row.is_confirmed for row in found)
    assert len(answer.warnings) == (installed is None)


def test_detection_is_not_asked_for_below_1500_lb_or_of_comfort_cooling():
    assert (
        rows(ask([], category="commercial_refrigeration", full_charge=1499), "automatic_leak_detection") == []
    )
    assert rows(ask([], full_charge=5000), "automatic_leak_detection") == []


def test_detection_installed_meets_it():
    facts = [fact("automatic_leak_detection", "2026-03-01", type="direct", event="E1")]

    (row,) = rows(ask(facts, **LARGE), "automatic_leak_detection")

    assert (row.status, row.met_by_event) == ("met", "E1")
