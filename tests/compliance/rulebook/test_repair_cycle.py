"""Repair and verification: 40 CFR 82.157(d), (e) and 84.106(d), (e), both sides of each deadline."""

import pytest

from tests.compliance.rulebook.scenario import (
    HFC,
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

OVER = added("2026-03-02", 12, event="E1")


def test_an_addition_over_the_threshold_opens_repair_and_initial_test_for_30_days():
    answer = ask([OVER], as_of="2026-03-05")

    assert brief(only(answer, "repair")) == ("2026-03-02", "2026-04-01", "open")
    assert brief(only(answer, "initial_verification_test")) == ("2026-03-02", "2026-04-01", "open")
    assert rows(answer, "follow_up_verification_test") == []
    assert only(answer, "repair").opened_by_event == "E1"
    assert only(answer, "repair").citation == "40 CFR 84.106(d)"


@pytest.mark.parametrize(
    ("opened", "due"),
    [("2026-01-31", "2026-03-02"), ("2028-01-31", "2028-03-01"), ("2026-11-25", "2026-12-25")],
)
def test_repair_is_due_after_30_calendar_days_over_february_and_on_holidays(opened, due):
    answer = ask([added(opened, 12)], as_of=opened)

    assert str(only(answer, "repair").due_on) == due


@pytest.mark.parametrize(("as_of", "status"), [("2026-04-01", "open"), ("2026-04-02", "overdue")])
def test_a_repair_is_overdue_the_day_after_its_due_date(as_of, status):
    assert only(ask([OVER], as_of=as_of), "repair").status == status


@pytest.mark.parametrize(("on", "status"), [("2026-04-01", "met"), ("2026-04-02", "met_late")])
def test_a_repair_is_met_on_its_due_date_and_met_late_after(on, status):
    row = only(ask([OVER, repaired(on, event="E2")]), "repair")

    assert row.status == status
    assert (str(row.met_on), row.met_by_event, str(row.due_on)) == (on, "E2", "2026-04-01")


def test_the_follow_up_test_is_due_10_days_after_the_passed_initial_test():
    answer = ask([OVER, repaired("2026-03-02"), initial_test("2026-03-02", event="E3")], as_of="2026-03-12")

    row = only(answer, "follow_up_verification_test")
    assert brief(row) == ("2026-03-02", "2026-03-12", "open")
    assert row.opened_by_event == "E3"


def test_after_an_evacuated_repair_the_follow_up_test_waits_for_normal_operation():
    facts = [OVER, repaired("2026-03-02", evacuated=True), initial_test("2026-03-02")]

    waiting = only(ask(facts), "follow_up_verification_test")
    running = only(
        ask([*facts, fact("normal_operation", "2026-03-20")], as_of="2026-03-25"),
        "follow_up_verification_test",
    )

    assert brief(waiting) == ("2026-03-02", None, "open")
    assert brief(running) == ("2026-03-02", "2026-03-30", "open")


@pytest.mark.parametrize(("on", "status"), [("2026-03-20", "met"), ("2026-03-21", "met_late")])
def test_the_follow_up_test_is_met_within_10_days(on, status):
    answer = ask([OVER, repaired("2026-03-10"), initial_test("2026-03-10"), follow_up(on)])

    assert only(answer, "follow_up_verification_test").status == status


def test_a_failed_initial_test_leaves_its_row_and_reopens_the_repair():
    facts = [OVER, repaired("2026-03-10"), initial_test("2026-03-12", passed=False)]

    answer = ask(facts, as_of="2026-03-13")

    failed, again = rows(answer, "initial_verification_test")
    assert brief(failed) == ("2026-03-02", "2026-04-01", "failed")
    assert brief(again) == ("2026-03-12", "2026-04-01", "open")
    assert brief(only(answer, "repair")) == ("2026-03-02", "2026-04-01", "open")


def test_a_repair_after_the_failed_initial_test_meets_it():
    facts = [OVER, repaired("2026-03-10"), initial_test("2026-03-12", passed=False), repaired("2026-03-15")]

    row = only(ask([*facts, initial_test("2026-03-15")]), "repair")

    assert (row.status, str(row.met_on)) == ("met", "2026-03-15")


def test_a_failed_follow_up_test_reopens_repair_and_initial_test_on_the_date_of_the_case():
    facts = [OVER, repaired("2026-03-28"), initial_test("2026-03-28"), follow_up("2026-04-05", passed=False)]

    answer = ask(facts, as_of="2026-04-05")

    assert brief(only(answer, "repair")) == ("2026-03-02", "2026-04-01", "overdue")
    assert brief(only(answer, "initial_verification_test")) == ("2026-03-02", "2026-04-01", "overdue")
    failed, again = rows(answer, "follow_up_verification_test")
    assert brief(failed) == ("2026-03-28", "2026-04-07", "failed")
    assert brief(again) == ("2026-04-05", None, "open")


def test_the_second_round_after_a_failed_follow_up_test_runs_from_its_own_initial_test():
    facts = [OVER, repaired("2026-03-05"), initial_test("2026-03-05"), follow_up("2026-03-10", passed=False)]
    facts += [repaired("2026-03-12"), initial_test("2026-03-13"), follow_up("2026-03-20")]

    answer = ask(facts)

    assert rows(answer, "follow_up_verification_test")[-1].status == "met"
    assert brief(rows(answer, "follow_up_verification_test")[-1])[1] == "2026-03-23"
    assert only(answer, "initial_verification_test").met_on.isoformat() == "2026-03-13"


def test_a_follow_up_test_that_did_not_show_every_leak_repaired_leaves_the_obligation_open():
    facts = [
        OVER,
        repaired("2026-03-05"),
        initial_test("2026-03-05"),
        follow_up("2026-03-10", all_leaks=False),
    ]

    assert only(ask(facts, as_of="2026-03-11"), "follow_up_verification_test").status == "open"


def test_tests_pass_only_when_every_open_leak_has_passed():
    facts = [
        added("2026-03-02", 12, leak="flare"),
        repaired("2026-03-04", leak="flare"),
        repaired("2026-03-04", leak="valve"),
    ]
    one = [*facts, initial_test("2026-03-05", leak="flare")]
    both = [*one, initial_test("2026-03-06", leak="valve")]

    assert only(ask(one, as_of="2026-03-07"), "initial_verification_test").status == "open"
    row = only(ask(both, as_of="2026-03-07"), "initial_verification_test")
    assert (row.status, str(row.met_on)) == ("met", "2026-03-06")


def test_the_first_repair_meets_the_repair_and_says_which_leaks_have_none():
    facts = [
        added("2026-03-02", 12, leak="flare"),
        added("2026-03-03", 1, leak="valve"),
        repaired("2026-03-04", leak="flare"),
    ]

    one = only(ask(facts, as_of="2026-03-06"), "repair")
    both = only(ask([*facts, repaired("2026-03-05", leak="valve")], as_of="2026-03-06"), "repair")

    assert (one.status, str(one.met_on)) == ("met", "2026-03-04")
    assert "Leak flare repaired on 2026-03-04. No repair on record yet: valve." in one.because
    assert (both.status, str(both.met_on)) == ("met", "2026-03-04")
    assert "Leak valve repaired on 2026-03-05." in both.because


def test_a_later_addition_over_the_threshold_moves_no_open_clock():
    answer = ask([OVER, added("2026-03-20", 12)], as_of="2026-03-21")

    assert all(rate.exceeds for rate in answer.leak_rates)
    assert brief(only(answer, "repair")) == ("2026-03-02", "2026-04-01", "open")


def test_an_addition_over_after_a_confirmed_repair_opens_a_new_case():
    facts = [OVER, repaired("2026-03-05"), initial_test("2026-03-05"), follow_up("2026-03-10")]
    facts += [added("2026-05-01", 1), added("2026-05-20", 12)]

    answer = ask(facts, as_of="2026-05-21")

    assert [brief(row) for row in rows(answer, "repair")][-1] == ("2026-05-20", "2026-06-19", "open")
    assert rows(answer, "retrofit_or_retirement_plan") == []


def test_an_industrial_process_shutdown_gives_120_days():
    shutdown = fact("industrial_process_shutdown_required", "2026-02-10")
    facts = [added("2026-01-31", 40), shutdown]

    answer = ask(facts, category="industrial_process_refrigeration", as_of="2026-05-31")

    assert brief(only(answer, "repair")) == ("2026-01-31", "2026-05-31", "open")
    assert brief(only(answer, "initial_verification_test")) == ("2026-01-31", "2026-05-31", "open")
    assert answer.warnings == ()


def test_a_shutdown_of_another_category_has_no_effect_but_a_warning():
    answer = ask([OVER, fact("industrial_process_shutdown_required", "2026-03-03")], as_of="2026-03-04")

    assert brief(only(answer, "repair")) == ("2026-03-02", "2026-04-01", "open")
    assert len(answer.warnings) == 1


def test_a_shutdown_recorded_after_the_due_date_is_refused_with_a_warning():
    facts = [added("2026-01-31", 40), fact("industrial_process_shutdown_required", "2026-03-03")]

    answer = ask(facts, category="industrial_process_refrigeration", as_of="2026-03-04")

    assert only(answer, "repair").status == "overdue"
    assert len(answer.warnings) == 1


def test_refrigerant_added_between_repair_and_initial_test_is_a_finding():
    answer = ask([OVER, repaired("2026-03-05"), added("2026-03-06", 1), initial_test("2026-03-07")])

    assert any("2026-03-06" in warning and "84.106(e)(1)" in warning for warning in answer.warnings)


def test_work_done_earlier_on_the_day_of_the_addition_counts():
    answer = ask([repaired("2026-03-02"), initial_test("2026-03-02"), OVER], as_of="2026-03-03")

    assert only(answer, "repair").status == "met"
    assert only(answer, "follow_up_verification_test").due_on.isoformat() == days_after("2026-03-02", 10)


def test_a_blend_of_ods_and_hfc_is_followed_under_both_rules():
    answer = ask([added("2026-03-02", 30)], refrigerant="R-402A", as_of="2026-03-03")

    assert [row.rule for row in rows(answer, "repair")] == ["us-federal-hfc", "us-federal-ods"]


def test_facts_after_the_date_asked_about_do_not_count():
    answer = ask([OVER, repaired("2026-03-10")], as_of="2026-03-09")

    assert only(answer, "repair", HFC).status == "open"
