"""A month of the board: what is due on each day, in weeks from Monday to Sunday."""

import calendar
import datetime
from collections import defaultdict
from dataclasses import dataclass, replace

from django.db.models import Q

from compliance.models import Obligation
from compliance.selectors.board import BoardFilter, BoardState, board, narrowed

# What of a day has room in its square; the rest is a link to the board.
SHOWN_A_DAY = 4
_MONDAY_FIRST = calendar.Calendar(firstweekday=calendar.MONDAY)


@dataclass(frozen=True)
class CalendarDay:
    """One day with what is due on it; of another month where ``is_in_month`` is false, and then empty."""

    on: datetime.date
    is_in_month: bool
    is_today: bool
    obligations: list[Obligation]

    @property
    def shown(self) -> list[Obligation]:
        """What has room in the day's square."""
        return self.obligations[:SHOWN_A_DAY]

    @property
    def more_count(self) -> int:
        """How many have none."""
        return len(self.obligations) - len(self.shown)


@dataclass(frozen=True)
class BoardMonth:
    """A month of the board.

    ``overdue_before`` is how much fell due before the month and is still owed; ``undated`` how much has no date
    running.
    """

    first_on: datetime.date
    weeks: list[list[CalendarDay]]
    count: int
    overdue_before: int
    undated: int

    @property
    def last_on(self) -> datetime.date:
        """Its last day."""
        return _next_month(self.first_on) - datetime.timedelta(days=1)

    @property
    def before(self) -> datetime.date:
        """The first day of the month before."""
        return (self.first_on - datetime.timedelta(days=1)).replace(day=1)

    @property
    def after(self) -> datetime.date:
        """The first day of the next month."""
        return _next_month(self.first_on)


def board_month(
    wanted: BoardFilter, month: datetime.date, today: datetime.date, now: datetime.datetime
) -> BoardMonth:
    """What is due in a month, of what is wanted.

    Args:
        wanted: what to show; its due dates are those of the month, its order and groups don't count.
        month: any day of it.
        today: the day to mark; each obligation stands as of the date at its own site.
        now: the instant.
    """
    first_on = month.replace(day=1)
    last_on = _next_month(first_on) - datetime.timedelta(days=1)
    every_day = replace(wanted, due_from=None, due_to=None, group="")
    in_month = board(replace(every_day, due_from=first_on, due_to=last_on), now)
    by_day: defaultdict[datetime.date, list[Obligation]] = defaultdict(list)
    for obligation in in_month:
        if obligation.due_on is not None:
            by_day[obligation.due_on].append(obligation)
    weeks = [
        [
            CalendarDay(
                on, on.month == first_on.month, on == today, by_day[on] if on.month == first_on.month else []
            )
            for on in week
        ]
        for week in _MONDAY_FIRST.monthdatescalendar(first_on.year, first_on.month)
    ]
    rest = narrowed(every_day, now)
    return BoardMonth(
        first_on=first_on,
        weeks=weeks,
        count=sum(len(rows) for rows in by_day.values()),
        overdue_before=rest.filter(Q(stands=BoardState.OVERDUE), due_on__lt=first_on).count(),
        undated=rest.filter(due_on=None).count(),
    )


def _next_month(first_on: datetime.date) -> datetime.date:
    days = calendar.monthrange(first_on.year, first_on.month)[1]
    return first_on + datetime.timedelta(days=days)
