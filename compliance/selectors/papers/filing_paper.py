"""One paper: the case as the records tell of it, the evidence that is known, and blanks for the rest."""

import datetime
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from compliance.rulebook import facts as rulebook
from compliance.rulebook.facts import Fact, FactKind
from compliance.rulebook.filings.catalogue import SPECS
from compliance.rulebook.filings.situation import Situation
from compliance.rulebook.filings.specs import SECTIONS, FilingKind
from compliance.rulebook.results import LeakRate, Obligation
from compliance.selectors.case_snapshot import case_snapshot, exceeded_rate
from compliance.selectors.facts import appliance_facts, as_registered, rules_for
from compliance.selectors.filing_prefill import filing_prefill
from compliance.selectors.papers.case_sections import (
    facility_section,
    leaks_section,
    loss_section,
    notification_lines,
    rate_section,
)
from compliance.selectors.papers.evidence_lines import evidence_lines
from compliance.selectors.papers.kinds import KEPT, PAPER_KINDS, SENT_TO, PaperKind
from compliance.selectors.papers.parts import FilingPaper, PaperSection
from jobs.models import Appliance, CaseFiling
from jobs.selectors.case_filings import current_filings

NOT_ASKED_FOR = "Nothing on record asks for it on {on}."
ALREADY_FILED = "This prints {filing}, filed on {on}, with the case as the records told of it then."
LATE = "It was due on {on}."


def filing_paper(
    appliance: Appliance,
    kind: FilingKind,
    *,
    as_of: datetime.date,
    known_at: datetime.datetime,
    year: int | None = None,
) -> FilingPaper | None:
    """Fill the paper of a filing about an appliance; ``None`` where no federal leak repair rule applies to it.

    Args:
        appliance: the one it is about, with its site and customer.
        kind: one of ``PAPER_KINDS``.
        as_of: the day up to which records count.
        known_at: records filed later don't count.
        year: the calendar year that it reports, where it is about one; that of ``as_of`` unless given.

    Source: 40 CFR 82.157 and 84.106: (f)(4) requests for more time, (h)(2) plans, (h)(5)(ii) relief, (i) more time for
        a plan, (j) and 84.106(m)(4) chronic leaks.
    """
    registered = as_registered(appliance, known_at)
    situation = situation_of(registered, *appliance_facts(registered, known_at), as_of)
    rules = tuple(rule for rule in situation.applying if rule in SECTIONS)
    if not rules:
        return None
    draft = _Draft(registered, PAPER_KINDS[kind], situation, rules, known_at, year or as_of.year)
    return draft.paper()


def situation_of(
    registered: Appliance, described: rulebook.Appliance, facts: Sequence[Fact], as_of: datetime.date
) -> Situation:
    """Where an appliance stands in law on a day, by these facts."""
    rules = rules_for(registered.site)
    return Situation(appliance=described, facts=tuple(facts), on=as_of, today=as_of, rules=rules)


def asked_for(paper_kind: PaperKind, situation: Situation, year: int) -> list[Obligation]:
    """What is owed, or for a year was, in the course of which such a paper is made."""
    if not paper_kind.is_of_a_year:
        return situation.running(*paper_kind.owed_for)
    return [
        row
        for row in situation.then.obligations
        if row.kind in paper_kind.owed_for and row.opened_on.year == year
    ]


class _Draft:
    """Gathers one paper."""

    def __init__(
        self,
        appliance: Appliance,
        paper_kind: PaperKind,
        situation: Situation,
        rules: tuple[str, ...],
        known_at: datetime.datetime,
        year: int,
    ) -> None:
        self.appliance = appliance
        self.paper_kind = paper_kind
        self.spec = SPECS[paper_kind.kind]
        self.situation = situation
        self.rules = rules
        self.known_at = known_at
        self.year = year
        self.asked = asked_for(paper_kind, situation, year)
        self.since = self._since()
        self.case: Mapping[str, Any] = case_snapshot(
            appliance, situation, since=self.since, known_at=known_at
        )
        self.filed = self._filed()
        if self.filed is not None:
            self.case = self.filed.case

    def paper(self) -> FilingPaper:
        details = self._details()
        kind = self.paper_kind
        dates = [row.due_on for row in self.asked if row.due_on is not None and kind.is_due_with_them]
        due_on = min(dates, default=None)
        return FilingPaper(
            kind=kind,
            spec=self.spec,
            title=f"{kind.title} {self.year}" if kind.is_of_a_year else kind.title,
            rules=self.rules,
            appliance=self.appliance,
            as_of=self.situation.on,
            due_on=due_on,
            filed=self.filed,
            sections=tuple(self._sections(details)),
            send_to=tuple(SENT_TO[rule] for rule in self.rules) if kind.is_sent else (KEPT,),
            statement=kind.statement,
            signed_by=str(details.get("signed_by") or ""),
            notes=tuple(self._notes(due_on, is_asked_for=bool(self.asked))),
        )

    def _sections(self, details: Mapping[str, Any]) -> Iterator[PaperSection]:
        citation, kind = self.spec.paragraph.cited(self.rules), self.paper_kind
        # A plan doesn't have to tell the case; it stands there for whoever carries it out.
        of_case = citation if kind.is_sent else ""
        yield facility_section(self.case, citation)
        if kind.is_of_a_year:
            yield loss_section(self.situation, self._rates_of_year(), self.year, self.case, citation)
        else:
            further = (
                notification_lines(self.appliance, self.case, self.known_at, self.filed)
                if kind.shows_notification
                else ()
            )
            yield rate_section(self.case, of_case, further)
        yield leaks_section(self.appliance, self.case, of_case, self._period(), self.known_at)
        yield PaperSection(
            "What only the owner or operator can say",
            citation,
            tuple(evidence_lines(self.spec, details, self.rules)),
        )

    def _notes(self, due_on: datetime.date | None, *, is_asked_for: bool) -> Iterator[str]:
        if self.filed is not None:
            yield ALREADY_FILED.format(filing=self.filed, on=self.filed.happened_on)
        elif not is_asked_for:
            yield NOT_ASKED_FOR.format(on=self.situation.on)
        elif due_on is not None and due_on < self.situation.on:
            yield LATE.format(on=due_on)

    def _filed(self) -> CaseFiling | None:
        """The newest filing of the kind in this case, or about this year."""
        filings = current_filings(self.appliance, self.known_at).filter(
            kind=self.spec.kind.value, happened_on__range=(self.since or self.situation.on, self.situation.on)
        )
        if self.paper_kind.is_of_a_year:
            filings = filings.filter(details__year=self.year)
        return next((filing for filing in filings.reverse() if self.paper_kind.prints(filing)), None)

    def _details(self) -> dict[str, Any]:
        """The evidence that was filed, or what the records know of it."""
        if self.filed is not None:
            return self.filed.details
        return dict(self._known())

    def _known(self) -> Iterator[tuple[str, Any]]:
        yield from filing_prefill(self.spec, self.appliance, self.situation).items()
        if not self.paper_kind.is_of_a_year:
            return
        done = self.situation.before(FactKind.RETROFITTED, FactKind.RETIRED)
        plans = [
            fact
            for fact in self.situation.before(FactKind.RETROFIT_OR_RETIREMENT_PLAN)
            if not any(fact.on <= end.on for end in done)
        ]
        yield "year", self.year
        yield "has_plan", "yes" if plans else "no"
        if plans:
            yield "plan_on", plans[-1].on

    def _since(self) -> datetime.date | None:
        """The first day of the year, or of the case: of the newest, or of an older one in which it is owed."""
        if self.paper_kind.is_of_a_year:
            return datetime.date(self.year, 1, 1)
        exceeded = exceeded_rate(self.situation)
        days = [row.opened_on for row in self.asked] + ([exceeded.on] if exceeded else [])
        return min(days, default=None)

    def _period(self) -> tuple[datetime.date, datetime.date]:
        """The days of which the work is told."""
        last_on = datetime.date(self.year, 12, 31) if self.paper_kind.is_of_a_year else self.situation.on
        return self.since or self.situation.on, min(last_on, self.situation.on)

    def _rates_of_year(self) -> list[LeakRate]:
        """The additions of the year under the first rule that rated them."""
        rates = [rate for rate in self.situation.then.leak_rates if rate.on.year == self.year]
        return [rate for rate in rates if rate.rule == rates[0].rule]
