"""Retrofit and retirement plans, their completion, relief and more time: 82.157 and 84.106 (h), (i)."""

import pytest

from tests.compliance.rulebook.scenario import (
    HFC,
    ODS,
    added,
    ask,
    brief,
    fact,
    follow_up,
    initial_test,
    lb,
    only,
    repaired,
    rows,
)

OVER = added("2026-04-01", 12, event="E1")
PLAN = "retrofit_or_retirement_plan"
DONE = "retrofit_or_retirement"
VERIFIED = [OVER, repaired("2026-04-05"), initial_test("2026-04-05"), follow_up("2026-04-10")]


def test_electing_makes_the_plan_due_30_days_after_the_exceedance_and_ends_repair_and_tests():
    answer = ask([OVER, fact("retrofit_or_retirement_elected", "2026-04-20")], as_of="2026-04-21")

    assert brief(only(answer, PLAN)) == ("2026-04-01", "2026-05-01", "open")
    assert only(answer, PLAN).opened_by_event == "E1"
    assert only(answer, "repair").status == "cancelled"
    assert only(answer, "initial_verification_test").status == "cancelled"
    assert rows(answer, DONE) == []


@pytest.mark.parametrize(
    ("as_of", "plans"), [("2026-05-01", []), ("2026-05-02", [("2026-04-01", "2026-05-01", "overdue")])]
)
def test_nothing_done_within_30_days_makes_the_plan_due_from_the_exceedance(as_of, plans):
    assert [brief(row) for row in rows(ask([OVER], as_of=as_of), PLAN)] == plans


def test_nothing_done_within_120_days_of_a_shutdown_makes_the_plan_overdue_at_once():
    facts = [added("2026-04-01", 40), fact("industrial_process_shutdown_required", "2026-04-02")]
    asked = {"category": "industrial_process_refrigeration"}

    assert rows(ask(facts, as_of="2026-07-30", **asked), PLAN) == []
    assert brief(only(ask(facts, as_of="2026-07-31", **asked), PLAN)) == (
        "2026-04-01",
        "2026-05-01",
        "overdue",
    )


@pytest.mark.parametrize(
    "act",
    [
        repaired("2026-04-30"),
        fact("leak_inspection", "2026-04-01", leaks_found=1),
        initial_test("2026-04-30", passed=False),
    ],
)
def test_something_done_in_time_asks_for_no_plan(act):
    assert rows(ask([OVER, act], as_of="2026-06-01"), PLAN) == []


def test_still_over_at_the_next_addition_after_repair_and_tests_asks_for_a_plan_and_a_new_repair():
    answer = ask([*VERIFIED, added("2026-07-01", 12, event="E9")], as_of="2026-07-02")

    assert brief(only(answer, PLAN)) == ("2026-07-01", "2026-07-31", "open")
    assert only(answer, PLAN).opened_by_event == "E9"
    assert brief(rows(answer, "repair")[-1]) == ("2026-07-01", "2026-07-31", "open")


@pytest.mark.parametrize(
    ("refrigerant", "rule", "at", "plans"),
    [
        ("R-410A", HFC, "2027-04-10", 1),
        ("R-410A", HFC, "2027-04-11", 0),
        ("R-22", ODS, "2027-04-05", 1),
        ("R-22", ODS, "2027-04-06", 0),
    ],
)
def test_a_year_without_an_addition_shows_the_repair_to_hold(refrigerant, rule, at, plans):
    """Counted from the follow-up test under 84.106, from the repair under 82.157 ((e), presumption)."""
    answer = ask([*VERIFIED, added(at, 12)], refrigerant=refrigerant, as_of=at)

    assert len(rows(answer, PLAN, rule)) == plans


@pytest.mark.parametrize(
    ("dated", "plan_status", "due"),
    [
        ("2026-04-20", "met", "2027-04-20"),
        ("2026-05-01", "met", "2027-05-01"),
        ("2026-05-02", "met_late", "2027-05-02"),
    ],
)
@pytest.mark.parametrize("refrigerant", ["R-22", "R-410A"])
def test_completion_is_due_a_year_after_the_plan(dated, plan_status, due, refrigerant):
    facts = [OVER, fact("retrofit_or_retirement_elected", "2026-04-10"), fact(PLAN, dated)]

    answer = ask(facts, refrigerant=refrigerant, as_of="2026-08-01")

    assert only(answer, PLAN).status == plan_status
    assert brief(only(answer, DONE)) == (dated, due, "open")


@pytest.mark.parametrize(("refrigerant", "due"), [("R-22", "2027-06-01"), ("R-410A", "2027-07-15")])
def test_82_157_alone_caps_completion_13_months_after_the_plan_was_due(refrigerant, due):
    facts = [OVER, fact("retrofit_or_retirement_elected", "2026-04-10"), fact(PLAN, "2026-07-15")]

    answer = ask(facts, refrigerant=refrigerant, as_of="2026-08-01")

    assert only(answer, PLAN).status == "met_late"
    assert str(only(answer, DONE).due_on) == due


def test_a_plan_of_29_february_is_completed_by_28_february():
    facts = [added("2028-02-10", 12), fact(PLAN, "2028-02-29")]

    assert str(only(ask(facts, as_of="2028-03-01"), DONE).due_on) == "2029-02-28"


@pytest.mark.parametrize(("on", "status"), [("2027-04-20", "met"), ("2027-04-21", "met_late")])
@pytest.mark.parametrize("how", ["retired", "retrofitted"])
def test_retrofitting_or_retiring_completes_the_plan(on, status, how):
    keys = {"refrigerant": "R-454B", "full_charge": lb(90)} if how == "retrofitted" else {}

    answer = ask([OVER, fact(PLAN, "2026-04-20"), fact(how, on, **keys)], as_of="2027-05-01")

    assert only(answer, DONE).status == status
    assert all(
        row.status not in ("open", "overdue") for row in answer.obligations if row.kind != "record_retention"
    )


def test_a_retired_appliance_has_no_headroom():
    assert ask([fact("retired", "2026-04-01")]).headroom.mass_mg is None


def test_an_addition_over_during_a_plan_opens_nothing():
    answer = ask([OVER, fact(PLAN, "2026-04-20"), added("2026-08-01", 12)], as_of="2026-08-02")

    assert len(rows(answer, "repair")) == 1
    assert len(rows(answer, PLAN)) == 1


RELIEVED = [OVER, fact(PLAN, "2026-04-20"), fact("relief_requested", "2026-10-17")]


@pytest.mark.parametrize(("as_of", "status"), [("2026-12-16", "open"), ("2026-12-17", "cancelled")])
def test_relief_is_approved_after_60_days_of_silence(as_of, status):
    assert only(ask(RELIEVED, as_of=as_of), DONE).status == status


def test_relief_asks_for_all_leaks_repaired_within_a_year_of_the_plan():
    answer = ask([*RELIEVED, fact("agency_answer", "2026-11-01", granted=True)], as_of="2026-11-02")

    assert only(answer, DONE).status == "cancelled"
    assert brief(rows(answer, "repair")[-1]) == ("2026-11-01", "2027-04-20", "open")


GRANTED = [*RELIEVED, fact("agency_answer", "2026-11-01", granted=True)]


def test_mothballing_holds_up_the_repair_that_relief_rests_on():
    facts = [*GRANTED, fact("mothballed", "2027-01-01"), added("2027-02-01", 1), repaired("2027-05-20")]

    answer = ask(facts, as_of="2027-06-01")

    assert brief(rows(answer, "repair")[-1]) == ("2026-11-01", "2027-05-21", "met")


def test_a_retrofit_before_the_repair_ends_what_relief_rests_on():
    retrofit = fact("retrofitted", "2027-01-10", refrigerant="R-410A", full_charge=lb(100))

    answer = ask([*GRANTED, retrofit, repaired("2027-02-01")], as_of="2027-06-01")

    assert [row.status for row in rows(answer, "repair")] == ["cancelled", "cancelled"]


def test_refused_relief_leaves_the_completion_due():
    answer = ask([*RELIEVED, fact("agency_answer", "2026-11-01", granted=False)], as_of="2027-02-01")

    assert brief(only(answer, DONE)) == ("2026-04-20", "2027-04-20", "open")


def test_relief_asked_later_than_180_days_after_the_plan_is_refused_with_a_warning():
    answer = ask([OVER, fact(PLAN, "2026-04-20"), fact("relief_requested", "2026-10-18")], as_of="2027-02-01")

    assert only(answer, DONE).status == "open"
    assert len(answer.warnings) == 1


@pytest.mark.parametrize(
    ("asked", "due", "warnings"), [("2026-11-01", "2028-01-01", 0), ("2026-11-02", "2027-04-20", 1)]
)
def test_more_time_is_asked_within_7_months_of_the_exceedance(asked, due, warnings):
    facts = [
        OVER,
        fact(PLAN, "2026-04-20"),
        fact("plan_extension", asked, until="2028-01-01", basis="custom_built"),
    ]

    answer = ask(facts, as_of="2027-02-01")

    assert str(only(answer, DONE).due_on) == due
    assert len(answer.warnings) == warnings


def more_time(basis, until="2029-01-01", on="2026-05-01", granted=None):
    answered = [] if granted is None else [fact("agency_answer", "2026-05-20", granted=granted)]
    return [OVER, fact(PLAN, "2026-04-20"), fact("plan_extension", on, until=until, basis=basis), *answered]


@pytest.mark.parametrize(
    ("until", "due"),
    [("2029-01-01", "2027-10-20"), ("2027-09-01", "2027-09-01"), ("2027-01-01", "2027-04-20")],
)
def test_a_replacement_with_an_exempt_substitute_has_18_months_without_asking(until, due):
    # 40 CFR 82.157(i)(1).
    row = only(ask(more_time("exempt_substitute", until), refrigerant="R-22", as_of="2026-05-02"), DONE)

    assert str(row.due_on) == due
    assert "2026-04-20 + 18 months = 2027-10-20 (40 CFR 82.157(i)(1))" in row.because


def test_less_time_recorded_later_takes_none_away_that_the_rule_gave():
    # 40 CFR 82.157(i)(1) gives the time without a request, so there is nothing to take back.
    facts = more_time("exempt_substitute", "2027-10-01") + more_time("exempt_substitute", "2027-08-01")[-1:]

    row = only(ask(facts, refrigerant="R-22", as_of="2026-05-02"), DONE)

    assert str(row.due_on) == "2027-10-01"


@pytest.mark.parametrize("basis", ["exempt_substitute", "Federally owned"])
def test_84_106_knows_neither_the_automatic_nor_the_federal_extension(basis):
    answer = ask(more_time(basis, granted=True), as_of="2026-06-01")

    assert brief(only(answer, DONE)) == ("2026-04-20", "2027-04-20", "open")
    assert any("no ground under 40 CFR 84.106" in warning for warning in answer.warnings)


def test_under_both_rules_the_ground_of_one_is_no_warning():
    answer = ask(more_time("exempt_substitute"), refrigerant="R-401A", as_of="2026-06-01")

    assert sorted((row.rule, str(row.due_on)) for row in rows(answer, DONE)) == [
        ("us-federal-hfc", "2027-04-20"),
        ("us-federal-ods", "2027-10-20"),
    ]
    assert answer.warnings == ()


def test_an_automatic_extension_recorded_after_the_due_date_is_refused():
    facts = more_time("exempt_substitute", on="2027-04-21")

    answer = ask(facts, refrigerant="R-22", as_of="2027-05-01")

    assert only(answer, DONE).status == "overdue"
    assert len(answer.warnings) == 1


@pytest.mark.parametrize(
    ("granted", "due"), [(True, "2028-04-20"), (False, "2027-04-20"), (None, "2027-04-20")]
)
def test_a_federally_owned_appliance_may_be_given_one_more_year(granted, due):
    # 40 CFR 82.157(i)(3): asked and answered, no more than a year.
    answer = ask(more_time("federally_owned", granted=granted), refrigerant="R-22", as_of="2026-06-01")

    assert str(only(answer, DONE).due_on) == due


@pytest.mark.parametrize("refrigerant", ["R-22", "R-410A"])
def test_the_reason_names_ground_and_conditions(refrigerant):
    facts = more_time("custom_built", until="2028-01-01", granted=True)

    row = only(ask(facts, refrigerant=refrigerant, as_of="2026-06-01"), DONE)

    assert str(row.due_on) == "2028-01-01"
    assert "A request for more time (custom built)" in row.because
    assert "More time (custom built) from" in row.because
    assert "more than 30 weeks" in row.because
    assert "within 120 days of its delivery" in row.because
    assert "and the appliance is comfort cooling" in row.because


def test_a_process_may_ask_again_before_the_ninth_month_of_its_extension_ends():
    # 40 CFR 82.157(i), 84.106(i): the extension begins where the plan's own year ends.
    first = more_time("other_regulation", until="2027-12-01", granted=True)
    process = "industrial_process_refrigeration"
    over = [added("2026-04-01", 40), *first[1:]]

    def asked(on):
        again = fact("plan_extension", on, until="2028-06-01", basis="other_regulation")
        answer = ask(
            [*over, again, fact("agency_answer", on, granted=True)], category=process, as_of="2028-01-30"
        )
        return str(only(answer, DONE).due_on)

    assert asked("2028-01-19") == "2028-06-01"
    assert asked("2028-01-20") == "2027-12-01"


@pytest.mark.parametrize("kind", ["retrofit_or_retirement_elected", PLAN])
def test_a_plan_that_nothing_asks_for_is_a_warning(kind):
    answer = ask([fact(kind, "2026-04-01")])

    assert rows(answer, PLAN) == []
    assert len(answer.warnings) == 1
