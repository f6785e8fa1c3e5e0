"""Every reason holds what a person needs to redo it with a pocket calculator and a calendar."""

import re
from calendar import monthrange
from datetime import date, timedelta
from decimal import Decimal

from hypothesis import given, settings

from tests.compliance.rulebook.scenario import added, ask, fact, follow_up, initial_test, repaired
from tests.compliance.rulebook.test_laws import ASKED, on, stories

RATE = re.compile(r"([\d.]+) / ([\d.]+)(?: × (\d+) / (\d+))? × 100 = ([\d.]+) %")
NET = re.compile(r"([\d.]+) lb put in((?: − [\d.]+ lb [a-z ]+)+) = ([\d.]+) lb added")
DUE = re.compile(r"(\d{4}-\d\d-\d\d)((?: \+ \d+ [a-z]+)+)(?: mothballed)? = (\d{4}-\d\d-\d\d)")
SPAN = re.compile(r"; (\d+) days? since .*? on ([\d-]+)(?:, to the leak's first addition on ([\d-]+))?[,:]")
TONNES = re.compile(r"([\d.]+) kg × ([\d.]+) / 1000 = ([\d.]+) t CO2e")

#: Masses are printed with three decimals of a pound, percentages with two.
MASS_STEP, PCT_STEP = Decimal("0.0005"), Decimal("0.005")


def later(day: date, count: int, unit: str) -> date:
    if unit.startswith("day"):
        return day + timedelta(days=count)
    months = day.month - 1 + count * (12 if unit.startswith("year") else 1)
    year, month = day.year + months // 12, months % 12 + 1
    return date(year, month, min(day.day, monthrange(year, month)[1]))


def redo_rates(text: str) -> int:
    found = RATE.findall(text)
    for added_lb, charge_lb, period, days, pct in found:
        factor = Decimal(100) * int(period or 1) / int(days or 1)
        redone = Decimal(added_lb) / Decimal(charge_lb) * factor
        # Both masses are rounded; the sum may be off by what that rounding makes of it.
        slack = (MASS_STEP / Decimal(charge_lb) * factor) * (
            1 + Decimal(added_lb) / Decimal(charge_lb)
        ) + PCT_STEP
        assert abs(redone - Decimal(pct)) <= slack, text
    return len(found)


def redo_nets(text: str) -> int:
    found = NET.findall(text)
    for put_in, terms, net in found:
        less = [Decimal(mass) for mass in re.findall(r"− ([\d.]+) lb", terms)]
        assert abs(Decimal(put_in) - sum(less) - Decimal(net)) <= MASS_STEP * (2 + len(less)), text
    return len(found)


def redo_dates(text: str) -> int:
    found = DUE.findall(text)
    for start, steps, due in found:
        day = date.fromisoformat(start)
        for count, unit in re.findall(r"\+ (\d+) ([a-z]+)", steps):
            day = later(day, int(count), unit)
        assert str(day) == due, text
    return len(found)


def redo_tonnes(text: str) -> int:
    found = TONNES.findall(text)
    for mass_kg, gwp, tonnes in found:
        redone = Decimal(mass_kg) * Decimal(gwp) / 1000
        assert abs(redone - Decimal(tonnes)) <= MASS_STEP * (1 + Decimal(gwp) / 1000), text
    return len(found)


@settings(max_examples=100, deadline=None)
@given(stories(), ASKED)
def test_every_reason_can_be_redone(story, asked):
    answer = ask(story, as_of=on(600), **asked)

    for rate in answer.leak_rates:
        assert redo_rates(rate.because) == 1
        redo_nets(rate.because)
        for days, since, until in SPAN.findall(rate.because):
            assert (date.fromisoformat(until or str(rate.on)) - date.fromisoformat(since)).days == int(days)
    for row in answer.obligations:
        if row.due_on is not None and row.kind not in ("leak_inspection", "automatic_leak_detection"):
            assert redo_dates(row.because) or row.kind in ("chronic_leak_report", "annual_report"), (
                row.because
            )
        redo_dates(row.because)
        redo_rates(row.because)
        assert row.due_on is None or str(row.due_on) in row.because, row.because
    for verdict in (*answer.applies, *answer.does_not_apply):
        redo_tonnes(verdict.because)


def test_what_was_put_in_less_what_does_not_count_is_shown_as_a_sum():
    facts = [
        fact("removal", "2026-05-01", mass={"value": 8, "unit": "lb"}, event="E1"),
        added("2026-05-01", 12, event="E1", purged_and_destroyed={"value": 1, "unit": "lb"}),
    ]

    (rate,) = ask(facts).leak_rates

    assert redo_nets(rate.because) == 1
    assert rate.because.startswith(
        "12.000 lb put in − 1.000 lb purged and destroyed − 8.000 lb removed in the same event = 3.000 lb added"
    )


def test_a_sum_for_one_leak_names_the_days_it_runs_between():
    facts = [added("2026-02-01", 1), added("2026-04-02", 2, leak="L1"), added("2026-04-09", 3, leak="L1")]

    rate = ask(facts).leak_rates[-1]

    assert rate.because == (
        "3.000 lb added, 5.000 lb so far for leak L1; 60 days since refrigerant was last added on 2026-02-01, to the "
        "leak's first addition on 2026-04-02: 5.000 / 100.000 × 365 / 60 × 100 = 30.42 %, over the 10 % threshold for "
        "comfort cooling (40 CFR 84.106(c)(2)). Additions for the same leak are summed; the days run from the last "
        "addition before them to the first of them."
    )


def test_an_inspection_says_how_its_date_is_reckoned_and_when_inspections_end():
    facts = [
        added("2026-02-01", 150),
        repaired("2026-02-10"),
        initial_test("2026-02-10"),
        follow_up("2026-02-15"),
    ]

    answer = ask(facts, category="commercial_refrigeration", full_charge=500, as_of="2026-06-01")

    assert [row.because for row in answer.obligations if row.kind == "leak_inspection"][1] == (
        "Inspect every 3 months from the passed follow-up test of 2026-02-15 on. 2026-02-15 + 6 months = 2026-08-15. "
        "The inspections end after 4 quarters in a row without a rate over the threshold; a period without an addition "
        "counts as such."
    )
