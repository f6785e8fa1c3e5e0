"""The story of one obligation: the addition that started it, what happened since, and what else hangs on it."""

import datetime
from dataclasses import dataclass

from django.db.models import Q

from compliance.models import LeakRate, Obligation
from compliance.rulebook.results import ObligationKind
from compliance.selectors.board import NOT_ON_THE_BOARD, is_pending, standing
from compliance.selectors.filing_words import what_was_filed
from compliance.selectors.visit_rows import with_rows
from compliance.selectors.visit_words import what_was_done
from jobs.models import CaseFiling, ServiceEvent
from jobs.selectors.case_filings import current_filings
from jobs.selectors.events import current_events

#: What a case is through with before the next one begins.
REPAIR_CYCLE = (
    ObligationKind.REPAIR,
    ObligationKind.INITIAL_VERIFICATION_TEST,
    ObligationKind.FOLLOW_UP_VERIFICATION_TEST,
)


@dataclass(frozen=True)
class CaseStep:
    """One visit or filing of a case: what was done, the rates it gave, and the obligations it opened and met."""

    event: ServiceEvent | None
    filing: CaseFiling | None
    sentences: list[str]
    rates: list[LeakRate]
    opened: list[Obligation]
    met: list[Obligation]

    @property
    def on(self) -> datetime.date:
        """The day at the site."""
        record = self.event or self.filing
        assert record is not None  # noqa: S101 -- one of the two is there
        return record.happened_on


@dataclass(frozen=True)
class ObligationCase:
    """An obligation with its case.

    ``started_by`` is the rate whose excess started it, if one did; ``related`` are the case's other obligations;
    ``followed_by`` is the repair with which the next case of the same rule began.
    """

    obligation: Obligation
    started_by: LeakRate | None
    steps: list[CaseStep]
    related: list[Obligation]
    followed_by: Obligation | None

    @property
    def ahead(self) -> list[Obligation]:
        """What is owed in it now or later, by due date; what has none comes last."""
        rows = [row for row in (self.obligation, *self.related) if is_pending(row)]
        return sorted(rows, key=lambda row: (row.due_on or datetime.date.max, row.pk))


def obligation_case(obligation: Obligation, now: datetime.datetime) -> ObligationCase:
    """Gather the case of an obligation: visits and filings from the addition that started it to where the next begins.

    Args:
        obligation: the one asked about.
        now: the instant that decides where the related ones stand.
    """
    started_by = _started_by(obligation)
    since = min(started_by.on, obligation.opened_on) if started_by else obligation.opened_on
    rows = _related(obligation, since, now)
    followed_by = _next_case([obligation, *rows], since)
    until = followed_by.opened_on if followed_by else datetime.date.max
    related = [row for row in rows if row.opened_on < until]
    return ObligationCase(
        obligation=obligation,
        started_by=started_by,
        steps=_steps(obligation, since, until, [*related, obligation]),
        related=related,
        followed_by=followed_by,
    )


def _started_by(obligation: Obligation) -> LeakRate | None:
    """The rate over the threshold that opened the repair from which the obligation follows."""
    rates = LeakRate.objects.filter(
        appliance=obligation.appliance_id, rule=obligation.rule, exceeds=True, on__lte=obligation.opened_on
    ).select_related("event")
    repair = (
        Obligation.objects.filter(
            appliance=obligation.appliance_id,
            rule=obligation.rule,
            kind=ObligationKind.REPAIR,
            opened_on__lte=obligation.opened_on,
            # A repair that an agency's answer asks for belongs to the case it ends.
            opened_by_filing=None,
        )
        .order_by("-opened_on", "-pk")
        .first()
    )
    if repair is None:
        return rates.order_by("-on", "-position").first()
    return rates.filter(on=repair.opened_on).filter(Q(event=repair.opened_by_id) | Q(event=None)).first()


def _related(obligation: Obligation, since: datetime.date, now: datetime.datetime) -> list[Obligation]:
    """The other obligations of the rule that opened since the case began."""
    others = Obligation.objects.filter(
        appliance=obligation.appliance_id, rule=obligation.rule, opened_on__gte=since
    ).exclude(Q(pk=obligation.pk) | Q(kind__in=NOT_ON_THE_BOARD))
    return list(standing(others, now).order_by("opened_on", "pk"))


def _next_case(rows: list[Obligation], since: datetime.date) -> Obligation | None:
    """The repair with which the next case began: one opened by a visit when this case was through.

    Where several leaks have a case each, they run side by side and are told together.
    """
    ordered = sorted(rows, key=lambda row: (row.opened_on, row.pk))
    for later in ordered:
        begins = later.kind == ObligationKind.REPAIR and later.opened_by_filing_id is None
        if not begins or later.opened_on <= since:
            continue
        before = [row for row in ordered if row.kind in REPAIR_CYCLE and row.opened_on < later.opened_on]
        if all(_is_through(row, later.opened_on) for row in before):
            return later
    return None


def _is_through(row: Obligation, on: datetime.date) -> bool:
    return not is_pending(row) and (row.met_on is None or row.met_on <= on)


def _steps(
    obligation: Obligation, since: datetime.date, until: datetime.date, rows: list[Obligation]
) -> list[CaseStep]:
    """What was done from a day until before another one, and what settled the obligation itself, however late."""
    during = Q(happened_on__gte=since, happened_on__lt=until)
    visits = current_events(obligation.appliance).filter(during | Q(pk=obligation.met_by_id))
    rates = list(
        LeakRate.objects.filter(appliance=obligation.appliance_id, rule=obligation.rule, on__gte=since)
    )
    steps = [
        CaseStep(
            event=event,
            filing=None,
            sentences=what_was_done(event),
            rates=[rate for rate in rates if rate.event_id == event.pk],
            opened=[row for row in rows if row.opened_by_id == event.pk],
            met=[row for row in rows if row.met_by_id == event.pk],
        )
        for event in with_rows(visits).select_related("technician")
    ]
    filings = current_filings(obligation.appliance).filter(during | Q(pk=obligation.met_by_filing_id))
    steps += [
        CaseStep(
            event=None,
            filing=filing,
            sentences=what_was_filed(filing),
            rates=[],
            opened=[row for row in rows if row.opened_by_filing_id == filing.pk],
            met=[row for row in rows if row.met_by_filing_id == filing.pk],
        )
        for filing in filings.select_related("filed_by")
    ]
    # What was filed about a case comes after the visits of its day.
    return sorted(steps, key=lambda step: step.on)
