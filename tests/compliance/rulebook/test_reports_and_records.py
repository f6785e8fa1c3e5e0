"""Chronic leak reports, 82.157(j) and 84.106(j), and how long records are kept, (l)."""

import pytest

from tests.compliance.rulebook.scenario import (
    HFC,
    added,
    ask,
    brief,
    fact,
    follow_up,
    initial_test,
    lb,
    mg,
    only,
    removed,
    repaired,
    rows,
)

CHRONIC = "chronic_leak_report"


def year(*pounds):
    return [
        added(f"2026-{month:02}-01", mass, event=f"E{month}") for month, mass in enumerate(pounds, start=2)
    ]


def test_the_addition_that_reaches_125_percent_opens_the_report():
    row = only(ask(year(50, 40, 35), as_of="2026-12-31"), CHRONIC)

    assert brief(row) == ("2026-04-01", "2027-03-01", "open")
    assert row.opened_by_event == "E4"


@pytest.mark.parametrize(("last_mg", "reports"), [(12_499_997, 0), (12_499_998, 1), (12_500_000, 1)])
def test_the_bound_is_reached_within_a_milligram_for_each_entry(last_mg, reports):
    facts = [
        fact("addition", "2026-02-01", mass=mg(112_500_000)),
        fact("addition", "2026-05-01", mass=mg(last_mg)),
    ]

    assert len(rows(ask(facts, full_charge=mg(100_000_000)), CHRONIC)) == reports


def test_the_charge_in_force_at_the_end_of_the_year_counts():
    smaller = fact("full_charge_change", "2026-11-01", full_charge=lb(90), method="calculated")

    assert rows(ask(year(60, 55), as_of="2026-10-31"), CHRONIC) == []
    assert brief(only(ask([*year(60, 55), smaller], as_of="2027-01-01"), CHRONIC))[0] == "2026-03-01"


def test_a_follow_up_test_does_not_reset_the_year():
    tests = [repaired("2026-02-02"), initial_test("2026-02-02"), follow_up("2026-02-05")]

    assert len(rows(ask([*year(60, 65), *tests]), CHRONIC)) == 1


def test_net_additions_count():
    facts = [
        removed("2026-02-01", 90, event="A"),
        added("2026-02-01", 100, event="A"),
        added("2026-03-01", 114),
    ]

    assert rows(ask(facts), CHRONIC) == []


@pytest.mark.parametrize(("filed", "status"), [("2027-03-01", "met"), ("2027-03-02", "met_late")])
def test_the_report_of_that_year_meets_it(filed, status):
    facts = [*year(130), fact("chronic_leak_report_filed", filed, year=2026, event="F")]

    row = only(ask(facts, as_of="2027-06-01"), CHRONIC)

    assert (row.status, row.met_by_event) == (status, "F")


def test_the_report_of_another_year_does_not():
    facts = [*year(130), fact("chronic_leak_report_filed", "2027-02-01", year=2025)]

    assert only(ask(facts, as_of="2027-03-02"), CHRONIC).status == "overdue"


def test_additions_before_84_106_do_not_count_for_it():
    assert rows(ask([added("2025-11-01", 130), added("2026-01-02", 1)]), CHRONIC) == []


def test_a_retired_appliance_still_owes_its_report():
    assert (
        only(ask([*year(130), fact("retired", "2026-06-01")], as_of="2027-03-02"), CHRONIC).status
        == "overdue"
    )


@pytest.mark.parametrize("as_of", ["2026-06-01", "2040-01-01"])
def test_records_are_kept_three_years_after_the_newest_and_never_alarm(as_of):
    row = only(ask([added("2026-03-01", 1), repaired("2026-05-01")], as_of=as_of), "record_retention")

    assert brief(row) == ("2026-05-01", "2029-05-01", "open")
    assert row.rule == HFC


def test_one_retention_for_each_rule_that_applies():
    assert len(rows(ask([added("2026-03-01", 1)], refrigerant="R-402A"), "record_retention")) == 2
    assert rows(ask([]), "record_retention") == []
