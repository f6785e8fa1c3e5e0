"""Clocks that stand still or move: 40 CFR 82.157(d)(3), (f), (i) and 84.106(d)(3), (f), (i)."""

import pytest

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

OVER = added("2026-05-01", 12)
MOTHBALLED = fact("mothballed", "2026-05-11")


def test_a_mothballed_clock_shows_no_date():
    answer = ask([OVER, MOTHBALLED], as_of="2026-07-01")

    assert brief(only(answer, "repair")) == ("2026-05-01", None, "suspended")
    assert "20 days left to 2026-05-31" in only(answer, "repair").because
    assert brief(only(answer, "initial_verification_test")) == ("2026-05-01", None, "suspended")


def test_a_mothballed_clock_goes_on_with_the_days_left_when_refrigerant_is_added():
    answer = ask([OVER, MOTHBALLED, added("2026-08-01", 1)], as_of="2026-08-21")

    assert brief(only(answer, "repair")) == ("2026-05-01", "2026-08-21", "open")
    assert "2026-05-31 + 82 days = 2026-08-21" in only(answer, "repair").because


def test_a_clock_already_overdue_is_not_suspended():
    late = ask([OVER, fact("mothballed", "2026-06-01")], as_of="2026-07-01")
    on_the_day = ask([OVER, fact("mothballed", "2026-05-31")], as_of="2026-07-01")

    assert brief(only(late, "repair")) == ("2026-05-01", "2026-05-31", "overdue")
    assert brief(only(on_the_day, "repair")) == ("2026-05-01", None, "suspended")


def test_a_return_to_service_without_an_addition_is_a_warning_and_no_more():
    answer = ask([OVER, MOTHBALLED, fact("returned_to_service", "2026-06-01")], as_of="2026-07-01")

    assert only(answer, "repair").status == "suspended"
    assert len(answer.warnings) == 1
    assert "2026-06-01" in answer.warnings[0]


def test_a_return_to_service_with_an_addition_that_day_needs_no_warning():
    facts = [OVER, MOTHBALLED, fact("returned_to_service", "2026-06-01"), added("2026-06-01", 1)]

    assert ask(facts, as_of="2026-06-01").warnings == ()


def test_even_an_addition_of_no_rate_lets_the_clock_go_on():
    facts = [OVER, MOTHBALLED, added("2026-06-01", 1, reason="seasonal_variance")]

    assert str(only(ask(facts, as_of="2026-06-02"), "repair").due_on) == days_after("2026-06-01", 20)


def test_the_follow_up_test_is_suspended_and_resumed_too():
    facts = [OVER, repaired("2026-05-05"), initial_test("2026-05-05"), fact("mothballed", "2026-05-08")]

    stopped = only(ask(facts, as_of="2026-07-01"), "follow_up_verification_test")
    resumed = only(ask([*facts, added("2026-07-10", 1)], as_of="2026-07-10"), "follow_up_verification_test")

    assert brief(stopped) == ("2026-05-05", None, "suspended")
    assert brief(resumed) == ("2026-05-05", "2026-07-17", "open")


def test_a_test_passed_while_mothballed_keeps_its_ten_days_for_later():
    facts = [OVER, MOTHBALLED, repaired("2026-05-20"), initial_test("2026-05-21"), added("2026-08-01", 1)]

    assert brief(only(ask(facts, as_of="2026-08-01"), "follow_up_verification_test")) == (
        "2026-05-21",
        "2026-08-11",
        "open",
    )


def test_plan_and_completion_stand_still_as_well():
    facts = [OVER, fact("retrofit_or_retirement_elected", "2026-05-05"), MOTHBALLED]
    plan = only(ask(facts, as_of="2026-06-01"), "retrofit_or_retirement_plan")
    facts = [OVER, fact("retrofit_or_retirement_plan", "2026-05-10"), MOTHBALLED, added("2026-05-21", 1)]
    completion = only(ask(facts, as_of="2026-06-01"), "retrofit_or_retirement")

    assert brief(plan) == ("2026-05-01", None, "suspended")
    assert brief(completion) == ("2026-05-10", "2027-05-20", "open")


def test_mothballing_suspends_neither_inspections_nor_the_chronic_report():
    facts = [
        added("2026-03-01", 130),
        repaired("2026-03-02"),
        initial_test("2026-03-02"),
        follow_up("2026-03-05"),
    ]

    answer = ask([*facts, fact("mothballed", "2026-03-10")], as_of="2027-04-01")

    assert brief(only(answer, "chronic_leak_report"))[1:] == ("2027-03-01", "overdue")
    assert brief(only(answer, "leak_inspection"))[1:] == ("2027-03-05", "overdue")


PROCESS = {"category": "industrial_process_refrigeration"}


@pytest.mark.parametrize(
    ("delivered", "due"),
    [
        ("2026-02-20", "2026-03-22"),
        ("2026-06-30", "2026-07-30"),
        ("2026-07-20", "2026-07-30"),
        (None, "2026-07-30"),
    ],
)
def test_a_parts_extension_is_30_days_after_delivery_and_180_after_the_exceedance_at_most(delivered, due):
    keys = {"delivered_on": delivered} if delivered else {}
    facts = [
        added("2026-01-31", 12),
        fact("extension", "2026-02-10", obligation="repair", basis="parts", **keys),
    ]

    answer = ask(facts, as_of="2026-02-11")

    assert str(only(answer, "repair").due_on) == due
    assert str(only(answer, "initial_verification_test").due_on) == due


def test_a_parts_extension_with_a_shutdown_has_270_days_at_most():
    facts = [
        added("2026-01-31", 40),
        fact("industrial_process_shutdown_required", "2026-02-01"),
        fact("extension", "2026-02-10", obligation="repair", basis="parts"),
    ]

    assert str(only(ask(facts, as_of="2026-02-11", **PROCESS), "repair").due_on) == "2026-10-28"


@pytest.mark.parametrize(
    ("delivered", "recorded", "due"),
    [
        (None, "2026-07-30", "2026-10-28"),
        (None, "2026-07-31", "2026-07-30"),
        ("2026-08-10", "2026-07-30", "2026-09-09"),
        ("2026-06-10", "2026-05-01", "2026-07-10"),
    ],
)
def test_a_shutdown_recorded_after_the_parts_extension_lifts_its_cap_to_270_days(delivered, recorded, due):
    keys = {"delivered_on": delivered} if delivered else {}
    facts = [
        added("2026-01-31", 40),
        fact("extension", "2026-02-10", obligation="repair", basis="parts", **keys),
        fact("industrial_process_shutdown_required", recorded),
    ]

    answer = ask(facts, as_of="2026-08-01", **PROCESS)

    assert str(only(answer, "repair").due_on) == due
    assert str(only(answer, "initial_verification_test").due_on) == due


def test_a_cap_lifted_while_mothballed_moves_with_the_days_mothballed():
    facts = [
        added("2026-01-31", 40),
        fact("extension", "2026-02-10", obligation="repair", basis="parts", delivered_on="2026-09-20"),
        fact("mothballed", "2026-03-01"),
        fact("industrial_process_shutdown_required", "2026-03-05"),
        added("2026-03-11", 1),
    ]

    # The earlier of 2026-09-20 + 30 and 2026-01-31 + 270 days, each 10 days later.
    assert str(only(ask(facts, as_of="2026-03-12", **PROCESS), "repair").due_on) == "2026-10-30"


def test_an_extension_never_brings_the_due_date_forward():
    extension = fact("extension", "2026-02-10", obligation="repair", basis="parts", delivered_on="2026-01-20")

    assert (
        str(only(ask([added("2026-01-31", 12), extension], as_of="2026-02-11"), "repair").due_on)
        == "2026-03-02"
    )


@pytest.mark.parametrize("basis", ["radiological", "other_regulation"])
def test_other_extensions_run_to_their_date(basis):
    extension = fact("extension", "2026-02-10", obligation="repair", basis=basis, until="2026-12-01")

    assert (
        str(only(ask([added("2026-01-31", 12), extension], as_of="2026-02-11"), "repair").due_on)
        == "2026-12-01"
    )


@pytest.mark.parametrize(
    ("filed", "due", "warnings"), [("2026-03-02", "2026-12-01", 0), ("2026-03-03", "2026-03-02", 1)]
)
def test_an_extension_filed_after_the_due_date_is_refused_with_a_warning(filed, due, warnings):
    extension = fact("extension", filed, obligation="repair", basis="radiological", until="2026-12-01")

    answer = ask([added("2026-01-31", 12), extension], as_of="2026-03-04")

    assert str(only(answer, "repair").due_on) == due
    assert len(answer.warnings) == warnings


def test_an_extension_of_the_initial_test_alone_leaves_the_repair_where_it_was():
    extension = fact(
        "extension",
        "2026-02-10",
        obligation="initial_verification_test",
        basis="radiological",
        until="2026-12-01",
    )

    answer = ask([added("2026-01-31", 12), extension], as_of="2026-02-11")

    assert str(only(answer, "repair").due_on) == "2026-03-02"
    assert str(only(answer, "initial_verification_test").due_on) == "2026-12-01"


def test_the_parts_cap_moves_with_the_days_mothballed():
    facts = [
        added("2026-01-31", 12),
        fact("mothballed", "2026-02-10"),
        added("2026-02-20", 1),
        fact("extension", "2026-02-21", obligation="repair", basis="parts"),
    ]

    assert str(only(ask(facts, as_of="2026-02-22"), "repair").due_on) == days_after("2026-07-30", 10)


def test_a_failed_test_after_an_extension_is_due_on_the_extended_date():
    extension = fact("extension", "2026-02-10", obligation="repair", basis="radiological", until="2026-12-01")
    facts = [
        added("2026-01-31", 12),
        extension,
        repaired("2026-02-12"),
        initial_test("2026-02-13", passed=False),
    ]

    answer = ask(facts, as_of="2026-04-01")

    assert [brief(row)[1:] for row in rows(answer, "initial_verification_test")] == [
        ("2026-12-01", "failed"),
        ("2026-12-01", "open"),
    ]


PARTS = fact("extension", "2026-03-10", obligation="repair", basis="parts")
OVER_UNDER_ONE_RULE = [added("2025-12-15", 1), added("2026-03-02", 5)]


@pytest.mark.parametrize(
    "filed",
    [PARTS, fact("retrofit_or_retirement_elected", "2026-03-10")],
)
def test_a_filing_that_one_rule_has_use_for_is_no_warning_under_another(filed):
    """5 lb of 100 lb in 77 days is 23.7 % under 82.157; 84.106(b)(1) counts 365 days for it, which is 5 %."""
    answer = ask([*OVER_UNDER_ONE_RULE, filed], refrigerant="R-402A", as_of="2026-03-11")

    assert [row.rule for row in rows(answer, "repair")] == ["us-federal-ods"]
    assert answer.warnings == ()


def test_an_extension_of_a_californian_repair_is_no_warning_under_federal_rules():
    found = fact("leak_inspection", "2026-03-02", leaks_found=1)

    answer = ask(
        [found, PARTS],
        rules=("us-federal", "us-california"),
        category="commercial_refrigeration",
        as_of="2026-03-11",
    )

    assert brief(only(answer, "repair")) == ("2026-03-02", "2026-04-16", "open")
    assert answer.warnings == ()


def test_a_filing_that_no_rule_has_use_for_is_one_warning():
    answer = ask([PARTS], refrigerant="R-402A", as_of="2026-03-11")

    assert answer.warnings == ("The extension of 2026-03-10 concerns no open case; it has no effect.",)


# 40 CFR 82.157(f)(4) and 84.106(f)(4): a request counts as approved unless the agency says otherwise.
FOR_PARTS = fact("extension", "2026-02-10", obligation="repair", basis="parts")


def answered(on, granted):
    return fact("agency_answer", on, granted=granted)


def dates(facts, *, as_of="2026-02-21", **keys):
    answer = ask([added("2026-01-31", 12), *facts], as_of=as_of, **keys)
    return [str(only(answer, kind).due_on) for kind in ("repair", "initial_verification_test")]


@pytest.mark.parametrize("granted", [True, False])
def test_the_agency_refusing_an_extension_puts_the_repair_back_to_30_days(granted):
    facts = [added("2026-01-31", 12), FOR_PARTS, answered("2026-02-20", granted)]
    answer = ask(facts, as_of="2026-02-21")

    due = "2026-07-30" if granted else "2026-03-02"
    assert dates(facts[1:]) == [due, due]
    assert answer.warnings == ()
    assert ("refused the extension of 2026-02-10" in only(answer, "repair").because) is not granted


def test_a_refused_new_estimate_leaves_the_earlier_one():
    first = fact("extension", "2026-02-10", obligation="repair", basis="radiological", until="2026-05-01")
    second = {**first, "on": "2026-02-12", "until": "2026-08-01"}

    assert dates([first, second, answered("2026-02-20", False)]) == ["2026-05-01"] * 2
    refused_twice = [first, second, answered("2026-02-20", False), answered("2026-02-21", False)]
    assert dates(refused_twice) == ["2026-03-02"] * 2
    newest_granted = [first, second, answered("2026-02-20", True), answered("2026-02-21", False)]
    assert dates(newest_granted) == ["2026-08-01"] * 2


def test_a_repair_made_before_the_refusal_was_in_time():
    facts = [
        added("2026-01-31", 12),
        FOR_PARTS,
        repaired("2026-04-01"),
        answered("2026-04-10", False),
        initial_test("2026-04-11"),
    ]
    answer = ask(facts, as_of="2026-04-12")

    assert only(answer, "repair").status == "met"
    assert only(answer, "initial_verification_test").status == "met_late"


@pytest.mark.parametrize(("granted", "plans"), [(True, 0), (False, 1)])
def test_a_refused_extension_is_nothing_done_about_the_leak(granted, plans):
    facts = [added("2026-01-31", 12), FOR_PARTS, answered("2026-04-10", granted)]

    assert len(rows(ask(facts, as_of="2026-04-10"), "retrofit_or_retirement_plan")) == plans


def test_a_refusal_while_mothballed_leaves_the_days_of_the_repair_alone():
    early = [
        FOR_PARTS,
        fact("mothballed", "2026-02-20"),
        answered("2026-02-25", False),
        added("2026-03-20", 1),
    ]
    late = [FOR_PARTS, fact("mothballed", "2026-04-01"), answered("2026-04-10", False)]

    # Ten days were left on 20 February; on 1 April none were.
    assert dates(early, as_of="2026-03-21")[0] == "2026-03-30"
    assert dates(late, as_of="2026-04-10")[0] == "2026-03-02"


def test_the_higher_cap_of_a_shutdown_comes_back_with_the_earlier_extension():
    process = {"category": "industrial_process_refrigeration"}
    facts = [
        added("2026-01-31", 40),
        FOR_PARTS,
        {**FOR_PARTS, "on": "2026-02-12", "delivered_on": "2026-11-30"},
        fact("industrial_process_shutdown_required", "2026-02-13"),
        answered("2026-02-20", False),
    ]

    # 270 days.
    assert str(only(ask(facts, as_of="2026-02-21", **process), "repair").due_on) == "2026-10-28"


def test_an_extension_of_a_second_case_is_put_back_too():
    facts = [
        added("2026-01-31", 12),
        repaired("2026-02-01"),
        initial_test("2026-02-02"),
        follow_up("2026-02-12"),
        added("2026-04-01", 12),
        fact("extension", "2026-04-05", obligation="repair", basis="parts"),
        answered("2026-04-06", False),
    ]
    answer = ask(facts, as_of="2026-04-07")

    assert str(rows(answer, "repair")[-1].due_on) == "2026-05-01"
    assert answer.warnings == ()


def test_an_answer_to_nothing_is_a_warning():
    (warning,) = ask([added("2026-01-31", 12), answered("2026-02-20", False)], as_of="2026-02-21").warnings

    assert "belongs to no request that waits for it" in warning
