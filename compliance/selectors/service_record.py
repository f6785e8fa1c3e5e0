"""The service record that the customer gets: one event, and what the law made of it when it was filed.

Calculated from what was on record at the filing, never from the stored projections, so that a
record printed again says the same.
"""

import datetime
from collections.abc import Iterable
from dataclasses import dataclass

from compliance.rulebook.assess import assess
from compliance.rulebook.facts import Fact, FactKind
from compliance.rulebook.refrigerants import Refrigerant
from compliance.rulebook.results import Assessment, LeakRate, Obligation, ObligationKind
from compliance.rulebook.rules import US_FEDERAL_HFC, US_FEDERAL_ODS
from compliance.rulebook.version import RULEBOOK_VERSION
from compliance.selectors.event_changes import Change, event_changes
from compliance.selectors.event_instruments import used_instruments
from compliance.selectors.event_logs import EventLog, event_logs
from compliance.selectors.event_record import (
    RECORD_KIND,
    Move,
    MovedTotal,
    figures_of,
    moved_totals,
    moves_of,
    whole_events,
)
from compliance.selectors.facts import appliance_facts, as_registered, rules_for
from jobs.models import Appliance, ChainLink, ServiceEvent, WorkKind
from jobs.selectors.amendments import newer_record, record_line
from jobs.selectors.appliances import Charge
from jobs.selectors.instruments import InstrumentOnDay

# What each rule says a service record holds, and to whom it is handed.
PARAGRAPHS = {
    US_FEDERAL_ODS: "40 CFR 82.157(l)(2)",
    US_FEDERAL_HFC: "40 CFR 84.106(l)(2) and (l)(4)",
}


@dataclass(frozen=True)
class ServiceRecord:
    """A service record as it is printed.

    Attributes:
        event: with all its rows.
        appliance: as registered when the event was filed, with its site.
        refrigerant: what was in it at the end of that day.
        charge: refrigerant and full charge in force at the end of that day.
        assessment: what the rules made of the records on file when this one was filed.
        filed_at: the instant in the site's time zone.
        versions: the first record and its amendments, oldest first.
        newer: the record that took its place, if any.
        changes: what an amendment changed.
        links: its places in the chains of the appliance and of cylinders.
    """

    event: ServiceEvent
    appliance: Appliance
    refrigerant: Refrigerant
    charge: Charge
    assessment: Assessment
    filed_at: datetime.datetime
    versions: list[ServiceEvent]
    newer: ServiceEvent | None
    changes: list[Change]
    links: list[ChainLink]
    rulebook_version: str = RULEBOOK_VERSION

    @property
    def paragraphs(self) -> list[str]:
        """The paragraphs under which it is handed over."""
        applied = [verdict.rule for verdict in self.assessment.applies]
        return [PARAGRAPHS[rule] for rule in applied if rule in PARAGRAPHS]

    @property
    def instruments(self) -> list[InstrumentOnDay]:
        """The scales and the gauge named, with the calibration that was on record when the event was filed."""
        return used_instruments(self.event, known_at=self.event.filed_at)

    @property
    def work_kinds(self) -> list[str]:
        return [str(WorkKind(kind).label) for kind in self.event.work_kinds]

    @property
    def statements(self) -> list[tuple[str, str]]:
        """Kinds in words with their figures in words."""
        return [(row.get_kind_display(), figures_of(row)) for row in self.event.statements.all()]

    @property
    def moves(self) -> list[Move]:
        """What was moved on the visit; the reversals of an amendment are bookkeeping."""
        return [move for move in moves_of(self.event) if move.transfer.reverses_id is None]

    @property
    def logs(self) -> list[EventLog]:
        """The scale's logs that were filed with the visit; what was added later is not in its print."""
        return [shown for shown in event_logs(self.event, self.moves) if not shown.log.is_added_later]

    @property
    def totals(self) -> list[MovedTotal]:
        """What was moved on the visit, summed."""
        return moved_totals(self.moves)

    @property
    def rates(self) -> list[LeakRate]:
        """The leak rates that the visit's additions gave."""
        return [rate for rate in self.assessment.leak_rates if rate.event == self.event.reference]

    @property
    def is_over(self) -> bool:
        return any(rate.exceeds for rate in self.rates)

    @property
    def opened(self) -> list[Obligation]:
        """The clocks that it started."""
        return [row for row in self._shown if row.opened_by_event == self.event.reference]

    @property
    def settled(self) -> list[Obligation]:
        """The clocks that it ended."""
        return [row for row in self._shown if row.met_by_event == self.event.reference]

    @property
    def still_due(self) -> list[Obligation]:
        """What else was owed on the appliance."""
        return [
            row
            for row in self._shown
            if row.status in ("open", "overdue") and row.opened_by_event != self.event.reference
        ]

    @property
    def retention(self) -> list[Obligation]:
        """Until when the appliance's records are to be kept."""
        return [row for row in self.assessment.obligations if row.kind == ObligationKind.RECORD_RETENTION]

    @property
    def is_signature_of_former(self) -> bool:
        """Whether an amendment carries the signature that was given under the record it replaced."""
        former, event = self.event.supersedes, self.event
        return bool(
            former
            and event.signature_name
            and (former.signature_name, former.signature_svg_path)
            == (event.signature_name, event.signature_svg_path)
        )

    @property
    def _shown(self) -> Iterable[Obligation]:
        return (row for row in self.assessment.obligations if row.kind != ObligationKind.RECORD_RETENTION)


def service_record(event: ServiceEvent, *, known_at: datetime.datetime | None = None) -> ServiceRecord:
    """Gather the record of an event.

    Args:
        event: from ``whole_events``.
        known_at: versions filed later don't count; now unless given.

    Source: 40 CFR 82.157(l)(2), 84.106(l)(2) and (l)(4) (what a service record holds).
    """
    appliance = as_registered(event.appliance, event.filed_at)
    described, facts = appliance_facts(appliance, event.filed_at)
    filed_at = event.filed_at.astimezone(appliance.site.zone)
    charge, refrigerant = _charge_after(event, described.refrigerant, described.full_charge_mg, facts)
    return ServiceRecord(
        event=event,
        appliance=appliance,
        refrigerant=refrigerant,
        charge=charge,
        assessment=assess(described, facts, as_of=filed_at.date(), rules=rules_for(appliance.site)),
        filed_at=filed_at,
        versions=list(record_line(event, known_at)),
        newer=newer_record(event, known_at),
        changes=_changes(event),
        links=list(ChainLink.objects.filter(record_kind=RECORD_KIND, record_id=event.pk).order_by("chain")),
    )


def _charge_after(
    event: ServiceEvent, refrigerant: Refrigerant, full_charge_mg: int, facts: list[Fact]
) -> tuple[Charge, Refrigerant]:
    """What was in force at the end of the visit's day."""
    for fact in facts:
        if fact.on > event.happened_on:
            break
        if fact.kind in (FactKind.FULL_CHARGE_CHANGE, FactKind.RETROFITTED):
            refrigerant = fact.refrigerant or refrigerant
            full_charge_mg = fact.full_charge_mg or full_charge_mg
    return Charge(refrigerant.designation, full_charge_mg), refrigerant


def _changes(event: ServiceEvent) -> list[Change]:
    """What an amendment changed; voiding changes all, and needs no list."""
    if event.supersedes_id is None or event.is_void:
        return []
    return event_changes(whole_events().get(pk=event.supersedes_id), event)
