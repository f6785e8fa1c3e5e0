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

    ``started_by`` is the rate whose excess started it, if one did; ``related`` are the case's other obligations.
    """

    obligation: Obligation
    started_by: LeakRate | None
    steps: list[CaseStep]
    related: list[Obligation]

    @property
    def ahead(self) -> list[Obligation]:
        """What is owed in it now or later, by due date; what has none comes last."""
        rows = [row for row in (self.obligation, *self.related) if is_pending(row)]
        return sorted(rows, key=lambda row: (row.due_on or datetime.date.max, row.pk))


def obligation_case(obligation: Obligation, now: datetime.datetime) -> ObligationCase:
    """Gather the case of an obligation: visits and filings from the addition that started it on.

    Args:
        obligation: the one asked about.
        now: the instant that decides where the related ones stand.
    """
    started_by = _started_by(obligation)
    since = min(started_by.on, obligation.opened_on) if started_by else obligation.opened_on
    related = _related(obligation, since, now)
    return ObligationCase(
        obligation=obligation,
        started_by=started_by,
        steps=_steps(obligation, since, [*related, obligation]),
        related=related,
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
        )
        .order_by("-opened_on", "-pk")
        .first()
    )
    if repair is None:
        return rates.order_by("-on", "-position").first()
    return rates.filter(on=repair.opened_on).filter(Q(event=repair.opened_by_id) | Q(event=None)).first()


def _related(obligation: Obligation, since: datetime.date, now: datetime.datetime) -> list[Obligation]:
    """The other obligations of the rule that opened in the course of the case."""
    others = Obligation.objects.filter(
        appliance=obligation.appliance_id, rule=obligation.rule, opened_on__gte=since
    ).exclude(Q(pk=obligation.pk) | Q(kind__in=NOT_ON_THE_BOARD))
    return list(standing(others, now).order_by("opened_on", "pk"))


def _steps(obligation: Obligation, since: datetime.date, rows: list[Obligation]) -> list[CaseStep]:
    visits = current_events(obligation.appliance).filter(happened_on__gte=since)
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
    filings = current_filings(obligation.appliance).filter(happened_on__gte=since)
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
