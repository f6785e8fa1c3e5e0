"""A sketch of an imagined history: its leak rates over time, and above them the clocks that ran."""

import datetime
from collections.abc import Iterator, Sequence

from compliance.rulebook.results import LeakRate
from compliance.selectors.what_if import Owed, WhatIf
from compliance.selectors.wording import KINDS, RULES, status_in_words
from portal.web.charts import Chart, DateAxis, Lane, Panel, Points, Rule, Span

# What lies further back is told by the lists alone; days of three years can still be told apart.
SHOWN_DAYS = 3 * 365

TONES = {"met": "second", "met_late": "second", "cancelled": "third", "suspended": "third"}


def what_if_chart(result: WhatIf) -> Chart | None:
    """The chart of an answer; none where no leak rate was calculated of late."""
    since = result.answer.as_of - datetime.timedelta(days=SHOWN_DAYS)
    rates = [rate for rate in result.answer.leak_rates if rate.on >= since]
    if not rates:
        return None
    owed = [row for row in (*result.pending, *result.settled) if row.obligation.opened_on >= since]
    over = sum(1 for rate in rates if rate.exceeds)
    return Chart(
        title="Leak rates and clocks over time",
        description=f"{len(rates)} leak rates, {over} of them over the threshold, and the clocks that ran.",
        panels=[_panel(rates)],
        axis=DateAxis(),
        lanes=list(_lanes(owed, result.answer.as_of)),
    )


def _panel(rates: Sequence[LeakRate]) -> Panel:
    groups = ((False, "Not over the threshold", "main"), (True, "Over the threshold", "danger"))
    points = [
        Points(
            xs=[rate.on.toordinal() for rate in rates if rate.exceeds is is_over],
            ys=[float(rate.percent_rounded) for rate in rates if rate.exceeds is is_over],
            name=name,
            tone=tone,
        )
        for is_over, name, tone in groups
    ]
    thresholds = sorted({rate.rule: rate.threshold_pct for rate in rates}.values())
    return Panel(
        title="Leak rate, % of full charge a year",
        points=[group for group in points if group.xs],
        rules=[Rule(float(value), f"{value.normalize():f} %") for value in dict.fromkeys(thresholds)],
        has_zero=True,
    )


def _lanes(owed: Sequence[Owed], as_of: datetime.date) -> Iterator[Lane]:
    rules = sorted({row.obligation.rule for row in owed})
    for kind, words in KINDS.items():
        for rule in rules:
            rows = [row for row in owed if (row.obligation.kind, row.obligation.rule) == (kind, rule)]
            if rows:
                title = words.name if len(rules) == 1 else f"{words.name}, {RULES[rule]}"
                yield Lane(title, [_span(row, as_of) for row in sorted(rows, key=_opened_on)])


def _span(row: Owed, as_of: datetime.date) -> Span:
    """From the day the clock started to the day it stopped; while it runs, to its date, or today once that is past."""
    owed = row.obligation
    end = owed.met_on or max(owed.due_on or as_of, as_of if row.is_pending else owed.opened_on)
    label = status_in_words(owed.status.value)
    return Span(owed.opened_on.toordinal(), end.toordinal(), label, TONES.get(owed.status.value, "first"))


def _opened_on(row: Owed) -> datetime.date:
    return row.obligation.opened_on
