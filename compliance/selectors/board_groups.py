"""The groups into which a page of the board falls, each with how much the whole board holds of it."""

import datetime
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import Any

from django.db.models import Count
from django.db.models.functions import TruncWeek

from compliance.models import Obligation
from compliance.selectors.board import BoardFilter, BoardGroup, narrowed

WEEK = datetime.timedelta(weeks=1)


@dataclass(frozen=True)
class BoardSection:
    """Rows of one group on one page; ``count`` is how many the group has on all pages."""

    title: str
    count: int
    obligations: list[Obligation]
    is_past: bool = False


def board_sections(
    wanted: BoardFilter, rows: Sequence[Obligation], now: datetime.datetime
) -> list[BoardSection]:
    """Put a page's rows into their groups; without grouping, all in one without a title.

    Args:
        wanted: what the board shows; its ``group`` decides.
        rows: of :func:`compliance.selectors.board.board`, one page of them.
        now: the instant that says which week is this one.
    """
    if not wanted.group:
        return [BoardSection("", len(rows), list(rows))]
    by_week = wanted.group == BoardGroup.WEEK
    key: Callable[[Obligation], Any] = _week if by_week else _customer
    counts = _counts(wanted, now, {key(row) for row in rows})
    sections = []
    for value, members in groupby(rows, key):
        group = list(members)
        title, is_past = (
            _week_words(value, group[0]) if by_week else (group[0].appliance.site.customer.name, False)
        )
        sections.append(BoardSection(title, counts[value], group, is_past))
    return sections


def _week(row: Obligation) -> datetime.date | None:
    return row.due_week  # type: ignore[attr-defined]  # an annotation


def _customer(row: Obligation) -> int:
    return row.appliance.site.customer_id


def _counts(wanted: BoardFilter, now: datetime.datetime, values: set[Any]) -> dict[Any, int]:
    rows = narrowed(wanted, now).order_by()
    if wanted.group == BoardGroup.WEEK:
        weeks = rows.annotate(of=TruncWeek("due_on")).values_list("of")
        return dict(weeks.annotate(number=Count("pk")))
    customers = rows.filter(appliance__site__customer__in=values)
    return dict(customers.values_list("appliance__site__customer_id").annotate(number=Count("pk")))


def _week_words(monday: datetime.date | None, row: Obligation) -> tuple[str, bool]:
    """The week's name, and whether it has passed at the site of its first row."""
    if monday is None:
        return "No date is running", False
    today: datetime.date = row.site_today  # type: ignore[attr-defined]  # an annotation
    this_monday = today - datetime.timedelta(days=today.weekday())
    near = {this_monday: ", this week", this_monday + WEEK: ", next week", this_monday - WEEK: ", last week"}
    sunday = monday + WEEK - datetime.timedelta(days=1)
    return f"{monday} to {sunday}{near.get(monday, '')}", monday < this_monday
