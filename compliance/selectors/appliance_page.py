"""Everything about one appliance on one page: register, books, law, visits, and who changed the register."""

import datetime
from dataclasses import dataclass

from django.db.models import QuerySet

from compliance.models import LeakRate, Obligation
from compliance.rulebook.assess import assess
from compliance.rulebook.refrigerants import find
from compliance.rulebook.results import Headroom, RuleVerdict
from compliance.selectors.appliance_books import Books, appliance_books
from compliance.selectors.board import appliance_obligations, is_pending
from compliance.selectors.facts import appliance_facts, rules_for
from compliance.selectors.filing_words import what_was_filed
from compliance.selectors.visit_rows import with_rows
from compliance.selectors.visit_words import what_was_done
from compliance.selectors.wording import methods_in_words
from jobs.models import Appliance, CaseFiling, ServiceEvent
from jobs.selectors.appliances import Charge, charge_in_force
from jobs.selectors.case_filings import current_filings
from jobs.selectors.events import current_events
from jobs.selectors.history import Change, register_history

VISITS_SHOWN = 20


@dataclass(frozen=True)
class HistoryEntry:
    """A visit or a filing, with what was done by it."""

    event: ServiceEvent | None
    filing: CaseFiling | None
    sentences: list[str]


@dataclass(frozen=True)
class AppliancePage:
    """What the appliance's page shows; ``methods`` is how leak rates are calculated at its facility, in words."""

    appliance: Appliance
    today: datetime.date
    charge: Charge
    safety_class: str
    methods: str
    books: Books
    applies: tuple[RuleVerdict, ...]
    does_not_apply: tuple[RuleVerdict, ...]
    warnings: tuple[str, ...]
    headroom: Headroom
    rates: list[LeakRate]
    obligations: list[Obligation]
    history: list[HistoryEntry]
    visit_count: int
    changes: list[Change]

    @property
    def has_older_visits(self) -> bool:
        """Whether there are more visits than the page shows."""
        return self.visit_count > VISITS_SHOWN

    @property
    def is_flammable(self) -> bool:
        """Whether the refrigerant burns: every safety class but those that end in 1 (ASHRAE 34)."""
        return not self.safety_class.endswith("1")

    @property
    def pending(self) -> list[Obligation]:
        """What is owed now or later."""
        return [row for row in self.obligations if is_pending(row)]

    @property
    def settled(self) -> list[Obligation]:
        """What was owed once, newest first."""
        return [row for row in self.obligations if not is_pending(row)][::-1]


def appliance_page(appliance: Appliance, now: datetime.datetime) -> AppliancePage:
    """Gather an appliance's page.

    Args:
        appliance: with its site, customer and technician.
        now: the instant whose date at the site counts as today.
    """
    today = now.astimezone(appliance.site.zone).date()
    described, facts = appliance_facts(appliance)
    methods = methods_in_words(described, facts, today)
    answer = assess(described, facts, as_of=today, rules=rules_for(appliance.site))
    charge = charge_in_force(appliance, today)
    events = current_events(appliance)
    return AppliancePage(
        appliance=appliance,
        today=today,
        charge=charge,
        safety_class=find(charge.refrigerant).safety_class,
        methods=methods,
        books=appliance_books(appliance, charge.full_charge_mg),
        applies=answer.applies,
        does_not_apply=answer.does_not_apply,
        warnings=answer.warnings,
        headroom=answer.headroom,
        rates=list(appliance.leak_rates.select_related("event").order_by("-on", "-position")),
        obligations=appliance_obligations(appliance, now),
        history=_history(appliance, events),
        visit_count=events.count(),
        changes=register_history(appliance),
    )


def _history(appliance: Appliance, events: QuerySet[ServiceEvent]) -> list[HistoryEntry]:
    """The newest visits and all that was filed since the oldest of them, newest first."""
    newest = list(with_rows(events).select_related("technician").reverse()[:VISITS_SHOWN])
    filings = current_filings(appliance).select_related("filed_by").reverse()
    if len(newest) == VISITS_SHOWN:
        filings = filings.filter(happened_on__gte=newest[-1].happened_on)
    entries = [
        *((row.happened_on, HistoryEntry(None, row, what_was_filed(row))) for row in filings),
        *((row.happened_on, HistoryEntry(row, None, what_was_done(row))) for row in newest),
    ]
    return [entry for _, entry in sorted(entries, key=lambda pair: pair[0], reverse=True)]
