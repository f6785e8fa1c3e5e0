"""The board: everything that is owed now or will be, by the date at each site."""

import datetime
from dataclasses import dataclass, replace

from django.db.models import Case, CharField, Count, F, Q, QuerySet, TextChoices, Value, When
from django.db.models.functions import Coalesce, TruncWeek

from compliance.models import Obligation, ObligationStatus
from compliance.rulebook.results import ObligationKind
from compliance.selectors.acknowledgements import is_escalated
from compliance.selectors.reminders import PENDING
from compliance.selectors.site_dates import SiteDates
from jobs.models import Appliance, Customer, Technician
from jobs.selectors.appliances import appliance_matches, refrigerant_now
from portal.accounts.models import User

DUE_SOON_DAYS = 7
ON_THE_BOARD = (*PENDING, ObligationStatus.SUSPENDED)
# A date that passes by itself asks nothing of anybody.
NOT_ON_THE_BOARD = (ObligationKind.RECORD_RETENTION,)


class BoardState(TextChoices):
    """Where something stands today; what is due soon is open too."""

    OVERDUE = "overdue", "Overdue"
    DUE_SOON = "due_soon", f"Due in {DUE_SOON_DAYS} days"
    OPEN = "open", "Open"
    SUSPENDED = "suspended", "Suspended"


class BoardSort(TextChoices):
    """The orders of the board; what is overdue longest comes first unless another one is asked for."""

    DUE = "due", "Due date"
    OPENED = "opened", "Newest first"
    CUSTOMER = "customer", "Customer"
    TECHNICIAN = "technician", "Who has it"
    KIND = "kind", "What is owed"


class BoardGroup(TextChoices):
    """What the board is grouped by."""

    WEEK = "week", "Week it is due"
    CUSTOMER = "customer", "Customer"


class BoardHolder(TextChoices):
    """Whose obligations to show, beside those of one technician."""

    MINE = "mine", "Mine"
    NOBODY = "nobody", "Nobody’s"


# The person that an obligation was given to, else the technician who looks after its appliance.
HOLDER_NAME = Coalesce(
    "assignment__technician__full_name", "assignment__user__full_name", "appliance__technician__full_name"
)
NOT_GIVEN = Q(assignment__technician=None, assignment__user=None)

ORDERS = {
    BoardSort.DUE: (),
    BoardSort.OPENED: ("-opened_on",),
    BoardSort.CUSTOMER: (
        "appliance__site__customer__name",
        "appliance__site__name",
        "appliance__name",
    ),
    BoardSort.TECHNICIAN: (HOLDER_NAME.asc(nulls_last=True),),
    BoardSort.KIND: ("kind",),
}


GROUPS = {
    BoardGroup.WEEK: (F("due_week").asc(nulls_last=True),),
    BoardGroup.CUSTOMER: ("appliance__site__customer__name", "appliance__site__customer"),
}


@dataclass(frozen=True)
class BoardFilter:
    """What to show; what is empty doesn't narrow.

    ``holder`` is one of :class:`BoardHolder` and asks for ``viewer``; ``due_from`` and ``due_to`` are both in.
    ``is_own_first`` puts what the viewer has before the rest, within each group.
    """

    search: str = ""
    customer: Customer | None = None
    technician: Technician | None = None
    holder: str = ""
    viewer: User | None = None
    kind: str = ""
    rule: str = ""
    state: str = ""
    due_from: datetime.date | None = None
    due_to: datetime.date | None = None
    sort: str = BoardSort.DUE
    group: str = ""
    is_own_first: bool = False


@dataclass(frozen=True)
class BoardCounts:
    """How much of each state there is; ``due_soon`` is part of ``open``."""

    overdue: int
    due_soon: int
    open: int
    suspended: int


def standing(obligations: QuerySet[Obligation], now: datetime.datetime) -> QuerySet[Obligation]:
    """Obligations with ``stands``, where they stand, and ``site_today``, the date at their site, at an instant.

    The stored status is of the last assessment; a due date that has passed since then shows at once.
    """
    dates = SiteDates(now)
    zone = "appliance__site__time_zone"
    runs = Q(status__in=PENDING)
    states = Case(
        When(runs, due_on__lt=F("site_today"), then=Value(BoardState.OVERDUE.value)),
        When(runs, due_on__lte=F("soon_on"), then=Value(BoardState.DUE_SOON.value)),
        When(runs, then=Value(BoardState.OPEN.value)),
        default=F("status"),
        output_field=CharField(),
    )
    return (
        obligations.annotate(site_today=dates.today(zone))
        .alias(soon_on=dates.today(zone, days_later=DUE_SOON_DAYS))
        .annotate(stands=states)
    )


def board(wanted: BoardFilter, now: datetime.datetime) -> QuerySet[Obligation]:
    """What is owed, as :func:`standing` gives it, with appliance, site, customer, ``holder_name``, ``refrigerant_now``.

    ``is_escalated`` is whether the officers were told that nobody acknowledged a reminder of it;
    ``due_week`` is the Monday of the week in which it is due.
    """
    rows = (
        narrowed(wanted, now)
        .select_related("appliance__site__customer")
        .annotate(
            refrigerant_now=refrigerant_now("appliance__"),
            holder_name=HOLDER_NAME,
            is_escalated=is_escalated(),
            due_week=TruncWeek("due_on"),
        )
    )
    groups = GROUPS[BoardGroup(wanted.group)] if wanted.group else ()
    by_due_date = (F("due_on").asc(nulls_last=True), "pk")
    own = (Case(When(_own(wanted.viewer), then=0), default=1),) if wanted.is_own_first else ()
    return rows.order_by(*groups, *own, *ORDERS[BoardSort(wanted.sort)], *by_due_date)


def board_counts(wanted: BoardFilter, now: datetime.datetime) -> BoardCounts:
    """How much of each state there is among what is wanted, whatever state is asked for."""
    counts = (
        narrowed(replace(wanted, state=""), now)
        .order_by()
        .aggregate(
            overdue=Count("pk", filter=Q(stands=BoardState.OVERDUE)),
            due_soon=Count("pk", filter=Q(stands=BoardState.DUE_SOON)),
            open=Count("pk", filter=Q(stands__in=(BoardState.OPEN, BoardState.DUE_SOON))),
            suspended=Count("pk", filter=Q(stands=BoardState.SUSPENDED)),
        )
    )
    return BoardCounts(**counts)


def appliance_obligations(appliance: Appliance, now: datetime.datetime) -> list[Obligation]:
    """Everything an appliance owes or ever owed, as :func:`standing` gives it, what is pending first."""
    rows = standing(appliance.obligations.exclude(kind__in=NOT_ON_THE_BOARD), now)
    return sorted(rows, key=_pending_first)


def days_left(obligation: Obligation) -> int | None:
    """Days until the due date at the site, negative when overdue; None where no date is running.

    Args:
        obligation: one of :func:`standing`.
    """
    site_today: datetime.date = obligation.site_today  # type: ignore[attr-defined]  # an annotation
    return None if obligation.due_on is None else (obligation.due_on - site_today).days


def is_pending(obligation: Obligation) -> bool:
    """Whether something is to be done now or later."""
    return obligation.status in ON_THE_BOARD


def narrowed(wanted: BoardFilter, now: datetime.datetime) -> QuerySet[Obligation]:
    """What is wanted, as :func:`standing` gives it, in no order."""
    rows = standing(
        Obligation.objects.filter(status__in=ON_THE_BOARD).exclude(kind__in=NOT_ON_THE_BOARD),
        now,
    ).filter(_search(wanted.search))
    exact = {
        "appliance__site__customer": wanted.customer,
        "kind": wanted.kind,
        "rule": wanted.rule,
        "due_on__gte": wanted.due_from,
        "due_on__lte": wanted.due_to,
    }
    rows = rows.filter(**{path: value for path, value in exact.items() if value})
    if wanted.technician:
        rows = rows.filter(held_by_technician(wanted.technician))
    if wanted.holder:
        rows = rows.filter(_held(wanted))
    if wanted.state == BoardState.OPEN:
        return rows.filter(Q(stands__in=(BoardState.OPEN, BoardState.DUE_SOON)))
    return rows.filter(Q(stands=wanted.state)) if wanted.state else rows


def held_by_technician(technician: Technician) -> Q:
    """What was given to a technician, and what nobody was given of the appliances they look after."""
    return Q(assignment__technician=technician) | (NOT_GIVEN & Q(appliance__technician=technician))


def _held(wanted: BoardFilter) -> Q:
    if wanted.holder == BoardHolder.NOBODY:
        return NOT_GIVEN & Q(appliance__technician=None)
    return _own(wanted.viewer)


def _own(viewer: User | None) -> Q:
    """What a person was given, and as a technician has from the appliances they look after."""
    given = Q(assignment__user=viewer, assignment__user__isnull=False)
    technician: Technician | None = getattr(viewer, "technician", None)
    return given | held_by_technician(technician) if technician else given


def _search(text: str) -> Q:
    """Each word tells of the appliance, or is part of the name of a person who has the obligation or the appliance."""
    people = ("appliance__technician", "assignment__technician", "assignment__user")
    return appliance_matches(
        text,
        "appliance__",
        lambda word: Q(*((f"{person}__full_name__icontains", word) for person in people), _connector=Q.OR),
    )


def _pending_first(obligation: Obligation) -> tuple[bool, datetime.date, int]:
    return (not is_pending(obligation), obligation.due_on or datetime.date.max, obligation.pk)
