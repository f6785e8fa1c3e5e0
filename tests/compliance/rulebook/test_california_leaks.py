"""California: verification tests, longer times for repair, retrofit or retirement (17 CCR 95386, 95387).

The times of both tests and of the plan are from memory: their obligations say so.
"""

import pytest

from compliance.rulebook.facts import CALIFORNIA_EXTENSION_BASES
from tests.compliance.rulebook.scenario import (
    added,
    ask,
    brief,
    days_after,
    fact,
    follow_up,
    initial_test,
    only,
    repaired,
    rows,
)

STORE = {
    "rules": ("us-california",),
    "category": "industrial_process_refrigeration",
    "refrigerant": "R-404A",
    "installed_on": "2026-01-15",
    "full_charge": 300,
}
FOUND_ON = "2026-03-01"
LEAK = fact("leak_inspection", FOUND_ON, leaks_found=1)
SHUTDOWN = fact("industrial_process_shutdown_required", "2026-03-02")
PLANNING = ("retrofit_or_retirement_plan", "retrofit_or_retirement")


def test_both_tests_follow_the_repair_on_times_from_memory():
    answer = ask([LEAK, repaired("2026-03-05"), initial_test("2026-03-06")], **STORE, as_of="2026-03-10")

    initial, later = only(answer, "initial_verification_test"), only(answer, "follow_up_verification_test")
    assert brief(initial) == (FOUND_ON, "2026-03-15", "met")
    assert brief(later) == ("2026-03-06", "2026-04-05", "open")
    assert (initial.is_confirmed, later.is_confirmed) == (False, False)
    # The repair's own days were read; that the program covers the gas, from which potential on, wasn't.
    assert only(answer, "repair").because.endswith("From memory, not confirmed: 17 CCR 95382 (least gwp).")


def test_a_passed_follow_up_test_closes_the_leak():
    facts = [LEAK, repaired("2026-03-05"), initial_test("2026-03-06"), follow_up("2026-03-20")]

    answer = ask([*facts, initial_test("2026-03-25", passed=False)], **STORE, as_of="2026-06-01")

    assert only(answer, "follow_up_verification_test").status == "met"
    assert only(answer, "repair").status == "met"
    assert all(rows(answer, kind) == [] for kind in PLANNING)


def test_a_failed_initial_test_reopens_the_repair_on_its_own_date():
    facts = [LEAK, repaired("2026-03-05"), initial_test("2026-03-06", passed=False)]
    answer = ask(facts, **STORE, as_of="2026-03-10")

    assert brief(only(answer, "repair")) == (FOUND_ON, "2026-03-15", "open")
    assert [brief(row) for row in rows(answer, "initial_verification_test")] == [
        (FOUND_ON, "2026-03-15", "failed"),
        ("2026-03-06", "2026-03-15", "open"),
    ]


def test_a_failed_follow_up_test_reopens_repair_and_initial_test():
    facts = [LEAK, repaired("2026-03-05"), initial_test("2026-03-06"), follow_up("2026-03-08", passed=False)]

    answer = ask(facts, **STORE, as_of="2026-03-10")

    assert brief(only(answer, "repair")) == (FOUND_ON, "2026-03-15", "open")
    assert brief(only(answer, "initial_verification_test")) == (FOUND_ON, "2026-03-15", "open")
    assert [brief(row) for row in rows(answer, "follow_up_verification_test")] == [
        ("2026-03-06", "2026-04-05", "failed"),
        ("2026-03-08", None, "open"),
    ]


def test_a_test_before_any_repair_meets_nothing():
    assert only(ask([LEAK, initial_test("2026-03-02")], **STORE), "initial_verification_test").met_on is None


def test_every_named_leak_has_to_pass():
    found = [added(FOUND_ON, 1, leak="valve"), added("2026-03-02", 1, leak="flange")]
    mended = [repaired("2026-03-03", leak="valve"), repaired("2026-03-03", leak="flange")]

    half = ask([*found, *mended, initial_test("2026-03-04", leak="valve")], **STORE, as_of="2026-03-05")
    whole = ask(
        [
            *found,
            *mended,
            initial_test("2026-03-04", leak="valve"),
            initial_test("2026-03-05", leak="flange"),
        ],
        **STORE,
        as_of="2026-03-05",
    )

    assert only(half, "initial_verification_test").status == "open"
    assert only(whole, "initial_verification_test").status == "met"
    assert len(rows(whole, "repair")) == 1


@pytest.mark.parametrize("rules", [("us-california",), ("eu",), ("uk",)])
def test_putting_back_what_the_repair_took_is_no_new_leak(rules):
    facts = [added(FOUND_ON, 1, leak="valve"), repaired("2026-03-05"), added("2026-03-05", 20, leak="valve")]

    answer = ask(facts, **{**STORE, "rules": rules}, as_of="2026-03-10")
    again = ask(
        [*facts, added("2026-03-06", 1, leak="valve")], **{**STORE, "rules": rules}, as_of="2026-03-10"
    )

    assert only(answer, "repair").status == "met"
    assert [row.status for row in rows(again, "repair")] == ["met", "open"]


def _ground(basis, on="2026-03-03", **more):
    return fact("extension", on, obligation="repair", basis=basis, **more)


# 45 and 120 days from the day on which the leak was found: 17 CCR 95386, as its agency's page on leak repair tells it;
# that the days run from the detection is from memory.
@pytest.mark.parametrize(
    ("facts", "due"),
    [
        ([], "2026-03-15"),
        ([SHUTDOWN], "2026-04-15"),
        ([_ground("parts", "2026-03-15")], "2026-04-15"),
        ([_ground("parts", "2026-03-16")], "2026-03-15"),
        ([_ground("parts", FOUND_ON)], "2026-04-15"),
        ([_ground("california_parts", "2026-03-15")], "2026-04-15"),
        ([_ground("california_parts", "2026-03-16")], "2026-03-15"),
        ([_ground("california_technician")], "2026-04-15"),
        ([_ground("california_shutdown")], "2026-04-15"),
        ([_ground("california_reporting_process")], "2026-06-29"),
        ([SHUTDOWN, _ground("california_reporting_process", "2026-04-15")], "2026-06-29"),
        ([SHUTDOWN, _ground("california_reporting_process", "2026-04-16")], "2026-04-15"),
        ([_ground("california_reporting_process"), _ground("california_parts", "2026-04-16")], "2026-06-29"),
    ],
)
def test_the_time_for_repair_is_14_45_or_120_days(facts, due):
    answer = ask([*facts, LEAK], **STORE, as_of="2026-03-01" if not facts else "2026-04-20")

    assert str(only(answer, "repair").due_on) == due
    assert str(rows(answer, "initial_verification_test")[0].due_on) == due


@pytest.mark.parametrize(
    ("facts", "category"),
    [
        # A regulation that forbids the work and a contamination are grounds of the federal rule alone.
        ([SHUTDOWN, _ground("other_regulation", until="2026-06-01")], "industrial_process_refrigeration"),
        ([SHUTDOWN, _ground("radiological", until="2026-06-01")], "industrial_process_refrigeration"),
        ([_ground("california_shutdown")], "commercial_refrigeration"),
        ([SHUTDOWN, _ground("california_reporting_process")], "commercial_refrigeration"),
        (
            [
                fact(
                    "extension",
                    "2026-03-03",
                    obligation="initial_verification_test",
                    basis="california_parts",
                )
            ],
            "industrial_process_refrigeration",
        ),
    ],
)
def test_other_grounds_appliances_and_tests_get_no_longer_days(facts, category):
    ordinary = SHUTDOWN in facts and category == "industrial_process_refrigeration"

    answer = ask([LEAK, *facts], **{**STORE, "category": category}, as_of="2026-03-04")

    assert str(only(answer, "repair").due_on) == ("2026-04-15" if ordinary else "2026-03-15")
    assert any("gives no repair that is owed more time" in warning for warning in answer.warnings)


@pytest.mark.parametrize("basis", CALIFORNIA_EXTENSION_BASES)
def test_the_federal_rule_knows_none_of_the_states_grounds(basis):
    over = added("2026-03-01", 100)

    answer = ask([over, _ground(basis)], **{**STORE, "rules": ("us-federal",)}, as_of="2026-03-04")

    assert str(only(answer, "repair").due_on) == "2026-03-31"
    assert any("is on a ground of another rule" in warning for warning in answer.warnings)


def test_a_leak_not_repaired_in_time_asks_for_a_plan_carried_out_within_6_months_of_its_detection():
    assert rows(ask([LEAK], **STORE, as_of="2026-03-15"), "retrofit_or_retirement_plan") == []

    answer = ask([LEAK], **STORE, as_of="2026-03-16")

    plan, work = (only(answer, kind) for kind in PLANNING)
    assert brief(plan) == ("2026-03-16", "2026-04-30", "open")
    assert brief(work) == ("2026-03-16", "2026-09-01", "open")
    assert "17 CCR 95387 (retrofit or retirement plan)" in plan.because
    assert "95387 (" not in work.because
    assert only(answer, "repair").status == "overdue"


def test_a_sound_repair_that_came_late_ends_the_plan_and_stays_late():
    answer = ask([LEAK, repaired("2026-03-20"), initial_test("2026-03-21")], **STORE, as_of="2026-04-01")

    assert only(answer, "repair").status == "met_late"
    assert {only(answer, kind).status for kind in PLANNING} == {"cancelled"}


@pytest.mark.parametrize(("day", "plans"), [("2026-03-20", 0), ("2026-03-21", 1)])
def test_a_late_failure_made_good_on_its_day_asks_for_no_plan(day, plans):
    facts = [
        LEAK,
        repaired("2026-03-10"),
        initial_test("2026-03-20", passed=False),
        repaired(day),
        initial_test(day),
    ]

    assert len(rows(ask(facts, **STORE, as_of="2026-04-01"), "retrofit_or_retirement_plan")) == plans


@pytest.mark.parametrize(("done", "status"), [("2026-09-01", "met"), ("2026-09-02", "met_late")])
def test_electing_ends_the_repair_and_the_retirement_meets_the_plan(done, status):
    facts = [LEAK, fact("retrofit_or_retirement_plan", "2026-03-10"), fact("retired", done)]

    answer = ask(facts, **STORE, as_of="2026-10-01")

    assert brief(only(answer, "retrofit_or_retirement_plan")) == ("2026-03-10", "2026-04-30", "met")
    assert only(answer, "retrofit_or_retirement").status == status
    assert only(answer, "repair").status == only(answer, "initial_verification_test").status == "cancelled"


def test_a_plan_without_a_leak_warns():
    answer = ask([fact("retrofit_or_retirement_plan", "2026-03-10")], **STORE)

    assert any("concerns no leak that is open" in warning for warning in answer.warnings)


def test_a_new_leak_after_the_repair_is_a_case_of_its_own():
    facts = [LEAK, repaired("2026-03-05"), fact("leak_inspection", "2026-03-20", leaks_found=1)]

    answer = ask(facts, **STORE, as_of="2026-03-25")

    assert [brief(row) for row in rows(answer, "repair")] == [
        (FOUND_ON, "2026-03-15", "met"),
        ("2026-03-20", days_after("2026-03-20", 14), "open"),
    ]
