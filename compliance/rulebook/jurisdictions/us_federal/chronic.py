"""Chronic leaks: a report for each calendar year in which an appliance leaked 125 % of its charge or more."""

from collections.abc import Container
from datetime import date
from fractions import Fraction
from itertools import groupby

from compliance.rulebook import policy
from compliance.rulebook.additions import Addition, CollectedAdditions
from compliance.rulebook.duties import Clock, Duty
from compliance.rulebook.facts import FactKind
from compliance.rulebook.jurisdictions.docket import Docket
from compliance.rulebook.jurisdictions.us_federal.rates import rounded_pct
from compliance.rulebook.masses import format_mass, shown_in_unit
from compliance.rulebook.results import ObligationKind
from compliance.rulebook.tables import Row


def open_chronic_leak_reports(docket: Docket, additions: CollectedAdditions, rated: Container[int]) -> None:
    """Opens a report on the addition that brings a calendar year to the bound; due on 1 March of the next year.

    Args:
        docket: where the duty is written.
        additions: all of them, in order of day.
        rated: the places of those that the rule rates.

    Source: 40 CFR 82.157(j), 40 CFR 84.106(j).
    """
    counted = [addition for addition in additions.rows if addition.position in rated]
    for year, of_year in groupby(counted, key=lambda addition: addition.on.year):
        _open_for_year(docket, year, list(of_year), additions)


def _open_for_year(
    docket: Docket, year: int, additions: list[Addition], collected: CollectedAdditions
) -> None:
    full_charge_mg = docket.timeline.state_on(date(year, 12, 31)).full_charge_mg
    bound = docket.row("chronic_leak", additions[-1].on)
    total_mg = entries = 0
    for addition in additions:
        total_mg += addition.net_mg
        entries += addition.entries
        if (total_mg + policy.RESOLUTION.value * entries) * 100 >= bound.number * full_charge_mg:
            because = (
                f"{format_mass(total_mg)} added in {year} by {addition.on}: "
                f"{shown_in_unit(total_mg, 'lb')} / {shown_in_unit(full_charge_mg, 'lb')} × 100 = "
                f"{rounded_pct(Fraction(total_mg * 100, full_charge_mg))} %, and {bound.in_words} or more is reported. "
                f"{policy.CHRONIC_BY_CALENDAR_YEAR.sentence}."
            )
            _open(docket, bound, addition, because, rests_on=collected.season_on(addition.on))
            return


def _open(docket: Docket, bound: Row, addition: Addition, because: str, *, rests_on: tuple[Row, ...]) -> None:
    year = addition.on.year
    row = docket.row("chronic_leak_report", addition.on)
    month, day = (int(part) for part in row.value.split("-"))
    due_on = date(year + 1, month, day)
    duty: Duty = docket.open(
        ObligationKind.CHRONIC_LEAK_REPORT,
        bound,
        addition.on,
        Clock(due_on),
        f"{because} Due {due_on}.",
        addition.event,
        rests_on=[row, *rests_on],
    )
    for filed in docket.timeline.of_kind(FactKind.CHRONIC_LEAK_REPORT_FILED):
        if filed.year == year and duty.is_pending:
            duty.meet(filed.on, filed.event, f"Filed on {filed.on}.")
