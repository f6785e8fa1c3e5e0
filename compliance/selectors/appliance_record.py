"""The record of one appliance: its charge and how that was found, every leak rate, every clock, all that was moved.

Calculated from the records by the rulebook, never from the stored projections, so that a record
as of a day and as known at an instant says the same whenever it is printed.
"""

import datetime
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from django.db.models import QuerySet

from compliance.rulebook.assess import assess
from compliance.rulebook.refrigerants import find
from compliance.rulebook.results import Assessment, Obligation, ObligationKind, Status
from compliance.rulebook.version import RULEBOOK_VERSION
from compliance.selectors.appliance_books import Books, appliance_books
from compliance.selectors.event_record import Move, MovedTotal, moved_totals, moves_of, whole_events
from compliance.selectors.facts import appliance_facts, as_registered, rules_for
from compliance.selectors.filing_words import EvidenceWords, evidence_in_words
from compliance.selectors.visit_words import what_was_done
from compliance.selectors.wording import methods_in_words
from jobs.models import (
    Appliance,
    CaseFiling,
    FullChargeMethod,
    LeakRateMethodChange,
    LeakRateMethodCorrection,
    ServiceEvent,
)
from jobs.selectors.appliances import CHARGE_STATEMENTS
from jobs.selectors.case_filings import current_filings
from jobs.selectors.events import current_events
from jobs.selectors.full_charges import Determination, filed_determinations
from jobs.selectors.history import Change, register_history
from jobs.selectors.method_changes import method_changes_standing, method_corrections_standing

PENDING = (Status.OPEN, Status.OVERDUE, Status.SUSPENDED)


@dataclass(frozen=True)
class ChargeStep:
    """One full charge: from which day, how it was determined, and what says so."""

    on: datetime.date
    refrigerant: str
    full_charge_mg: int
    method: str
    source: str


@dataclass(frozen=True)
class RecordedVisit:
    """A visit with what was done on it, and what was moved."""

    event: ServiceEvent
    sentences: list[str]
    moves: list[Move]


@dataclass(frozen=True)
class RecordedFiling:
    """A filing about a case with its evidence in words."""

    filing: CaseFiling
    evidence: list[EvidenceWords]


@dataclass(frozen=True)
class ApplianceRecord:
    """What is printed of an appliance.

    Attributes:
        appliance: as registered at ``known_at``.
        as_of: the day on which clocks are read; later visits don't count.
        known_at: records filed later don't count.
        books: what it holds by them on the day.
        charges: every full charge, oldest first.
        determinations: those filed by themselves, with the range or the parts that they rest on, oldest first.
        visits: those that stand, in legal order.
        filings: what was filed about its cases and stands, in legal order.
        replaced: records that an amendment replaced or that say a visit never took place, oldest first.
        methods: the facility's leak rate method with its changes, in words,
        method_changes: the records of these,
        method_corrections: and those by which a mistaken entry of the register was put right.
    """

    appliance: Appliance
    as_of: datetime.date
    known_at: datetime.datetime
    assessment: Assessment
    books: Books
    charges: list[ChargeStep]
    determinations: list[Determination]
    visits: list[RecordedVisit]
    filings: list[RecordedFiling]
    replaced: list[ServiceEvent | CaseFiling]
    methods: str
    method_changes: list[LeakRateMethodChange]
    method_corrections: list[LeakRateMethodCorrection]
    changes: list[Change]
    rulebook_version: str = RULEBOOK_VERSION

    @property
    def safety_class(self) -> str:
        return find(self.charges[-1].refrigerant).safety_class

    @property
    def pending(self) -> list[Obligation]:
        """What is owed on the day."""
        return [row for row in self.assessment.obligations if row.status in PENDING and _is_shown(row)]

    @property
    def settled(self) -> list[Obligation]:
        """What was owed once."""
        return [row for row in self.assessment.obligations if row.status not in PENDING and _is_shown(row)]

    @property
    def retention(self) -> list[Obligation]:
        """Until when its records are to be kept."""
        return [row for row in self.assessment.obligations if not _is_shown(row)]

    @property
    def moves(self) -> Iterator[tuple[ServiceEvent, Move]]:
        """All that was put in and taken out, with the record that says so."""
        return ((visit.event, move) for visit in self.visits for move in visit.moves)

    @property
    def totals(self) -> list[MovedTotal]:
        """All that was put in and taken out, summed."""
        return moved_totals(move for _, move in self.moves)


def appliance_record(
    appliance: Appliance, *, as_of: datetime.date, known_at: datetime.datetime
) -> ApplianceRecord:
    """Gather the record of an appliance.

    Args:
        appliance: the one asked about.
        as_of: the day at the site on which clocks are read.
        known_at: only what was on record at this instant counts.

    Source: 40 CFR 82.157(l), 84.106(l) (what must be on record of an appliance).
    """
    registered = as_registered(appliance, known_at)
    described, facts = appliance_facts(registered, known_at)
    standing = current_events(registered, known_at).filter(happened_on__lte=as_of)
    order = {pk: place for place, pk in enumerate(standing.values_list("pk", flat=True))}
    events = sorted(whole_events().filter(pk__in=order), key=lambda event: order[event.pk])
    filed = registered.service_events.filter(filed_at__lte=known_at, happened_on__lte=as_of)
    stand = current_filings(registered, known_at).filter(happened_on__lte=as_of)
    filings = list(stand.select_related("filed_by").prefetch_related("attachments"))
    filed_about = registered.case_filings.filter(filed_at__lte=known_at, happened_on__lte=as_of)
    charges = list(_charges(registered, events))
    return ApplianceRecord(
        appliance=registered,
        as_of=as_of,
        known_at=known_at,
        assessment=assess(described, facts, as_of=as_of, rules=rules_for(registered.site)),
        books=appliance_books(registered, charges[-1].full_charge_mg, on=as_of, known_at=known_at),
        charges=charges,
        determinations=filed_determinations(registered, as_of=as_of, known_at=known_at)[::-1],
        visits=[RecordedVisit(event, what_was_done(event), _moves(event)) for event in events],
        filings=[RecordedFiling(row, evidence_in_words(row)) for row in filings],
        replaced=[*_replaced(filed, set(order)), *_replaced(filed_about, {row.pk for row in filings})],
        methods=methods_in_words(described, facts, as_of),
        method_changes=list(
            method_changes_standing(known_at).filter(site=registered.site_id, happened_on__lte=as_of)
        ),
        # It holds from the beginning, whatever the day asked about.
        method_corrections=list(method_corrections_standing(known_at).filter(site=registered.site_id)),
        changes=register_history(appliance, known_at),
    )


def _is_shown(row: Obligation) -> bool:
    return row.kind != ObligationKind.RECORD_RETENTION


def _replaced(filed: QuerySet[Any], standing: set[int]) -> list[Any]:
    """The records that don't stand, oldest first."""
    rows = filed.exclude(pk__in=standing).select_related("superseded_by", "supersedes")
    return list(rows.order_by("pk"))


def _moves(event: ServiceEvent) -> list[Move]:
    return [move for move in moves_of(event) if move.transfer.reverses_id is None]


def _charges(appliance: Appliance, events: list[ServiceEvent]) -> Iterator[ChargeStep]:
    note = f": {appliance.full_charge_note}" if appliance.full_charge_note else ""
    refrigerant = appliance.refrigerant
    yield ChargeStep(
        on=appliance.registered_on,
        refrigerant=refrigerant,
        full_charge_mg=appliance.full_charge_mg,
        method=f"{appliance.get_full_charge_method_display()}{note}",
        source="the register",
    )
    for event in events:
        for statement in event.statements.all():
            if statement.kind in CHARGE_STATEMENTS:
                refrigerant = statement.details.get("refrigerant", refrigerant)
                method = statement.details.get("method", "")
                yield ChargeStep(
                    on=event.happened_on,
                    refrigerant=refrigerant,
                    full_charge_mg=statement.details["full_charge_mg"],
                    method=FullChargeMethod(method).label if method in FullChargeMethod.values else method,
                    source=f"{event}: {statement.get_kind_display().lower()}",
                )
