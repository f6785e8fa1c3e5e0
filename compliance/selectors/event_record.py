"""One filed event with every row of it, where it stands among its versions, and what the law makes of it."""

import datetime
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from django.db.models import Prefetch, QuerySet

from compliance.models import Obligation
from compliance.rulebook.masses import format_mass
from compliance.selectors.event_instruments import (
    Caution,
    certificate_cautions,
    event_cautions,
    event_opening,
    used_instruments,
)
from compliance.selectors.event_pages import obligations_due
from compliance.selectors.filing_answer import FilingAnswer, filing_answer
from compliance.selectors.opening import OpeningAdvice
from compliance.selectors.recovery import recovery_cautions
from jobs.models import (
    ChainLink,
    FullChargeMethod,
    Holder,
    Repair,
    ServiceEvent,
    Statement,
    Transfer,
    VerificationTest,
    WorkKind,
)
from jobs.selectors.amendments import newer_record
from jobs.selectors.appliances import Charge, charge_in_force
from jobs.selectors.events import STANDING, event_line
from jobs.selectors.instruments import InstrumentOnDay

RECORD_KIND = "service_event"


def whole_events() -> QuerySet[ServiceEvent]:
    """Events with all that was filed with them."""
    moves = Transfer.objects.select_related(
        "from_holder__cylinder",
        "to_holder__cylinder",
        "from_holder__appliance",
        "to_holder__appliance",
        "leak",
        "scale",
        "weigh_log__reading",
        "weigh_log__attached_by",
    )
    return ServiceEvent.objects.select_related(
        "appliance__site__customer",
        "filed_by",
        "technician",
        "certification__technician",
        "supervisor",
        "recovery_machine",
        "gauge",
        "supersedes",
        "superseded_by__filed_by",
        "leak_inspection",
    ).prefetch_related(
        Prefetch("transfers", moves.order_by("position")),
        "leak_findings__leak",
        Prefetch("repairs", Repair.objects.select_related("leak")),
        Prefetch("verification_tests", VerificationTest.objects.select_related("leak")),
        "statements",
    )


@dataclass(frozen=True)
class Move:
    """A transfer as seen from the appliance: which way it went, and who stood on the other side."""

    transfer: Transfer
    is_addition: bool
    other: Holder


@dataclass(frozen=True)
class MovedTotal:
    """The gross masses of one refrigerant that a visit put in and took out."""

    refrigerant: str
    added_mg: int
    removed_mg: int


def moved_totals(moves: Iterable[Move]) -> list[MovedTotal]:
    """What was moved on a visit, summed; the reversals of an amendment don't count."""
    sums: dict[str, list[int]] = {}
    for move in moves:
        if move.transfer.reverses_id is None:
            masses = sums.setdefault(move.transfer.refrigerant, [0, 0])
            masses[0 if move.is_addition else 1] += move.transfer.mass_mg
    return [MovedTotal(designation, *masses) for designation, masses in sums.items()]


@dataclass(frozen=True)
class EventRecord:
    """An event as it is shown.

    Attributes:
        charge: refrigerant and full charge in force when the visit was made.
        moves: its transfers, in the order typed; the reversals of an amendment last.
        statements: (kind in words, figures in words).
        work_kinds: in words.
        filed_at: the instant in the site's time zone.
        versions: the first record and its amendments, oldest first.
        newer: the record that took its place, if any.
        links: its places in the chains of the appliance and of cylinders.
        answer: leak rates, obligations opened and met; None for a record that doesn't stand.
        still_due: what is owed on the appliance.
        is_signature_of_former: an amendment carries the signature that was given under the record it replaced.
        instruments: the scales and the gauge named, with their calibration on the day.
        opening: what the law asked for before the opening; None if there was none of ours, or no such law.
        cautions: what the officer should look at; nothing for a record that doesn't stand.
        is_owner_told: a record of that day or later says that the owner was told.
    """

    charge: Charge
    moves: list[Move]
    statements: list[tuple[str, str]]
    work_kinds: list[str]
    filed_at: datetime.datetime
    versions: list[ServiceEvent]
    newer: ServiceEvent | None
    links: list[ChainLink]
    answer: FilingAnswer | None
    still_due: list[Obligation]
    instruments: list[InstrumentOnDay]
    opening: OpeningAdvice | None
    cautions: list[Caution]
    is_owner_told: bool
    is_signature_of_former: bool

    @property
    def totals(self) -> list[MovedTotal]:
        """What was moved on the visit, summed."""
        return moved_totals(self.moves)

    @property
    def is_standing(self) -> bool:
        return self.answer is not None

    @property
    def is_owner_to_be_told(self) -> bool:
        """Whether a rate is over its threshold, and nobody recorded that the owner knows of it."""
        return bool(self.answer and self.answer.is_over and not self.is_owner_told)


def event_record(event: ServiceEvent, now: datetime.datetime) -> EventRecord:
    """Gather what the page of an event shows.

    Args:
        event: from ``whole_events``.
        now: the instant that tells what is past due.
    """
    newer = newer_record(event)
    is_standing = newer is None and not event.is_void
    charge = charge_in_force(event.appliance, event.happened_on, without=event)
    instruments, opening = used_instruments(event), event_opening(event, charge)
    links = ChainLink.objects.filter(record_kind=RECORD_KIND, record_id=event.pk)
    return EventRecord(
        charge=charge,
        moves=moves_of(event),
        statements=[(row.get_kind_display(), figures_of(row)) for row in event.statements.all()],
        work_kinds=[str(WorkKind(kind).label) for kind in event.work_kinds],
        filed_at=event.filed_at.astimezone(event.appliance.site.zone),
        versions=list(event_line(event)),
        newer=newer,
        links=list(links.order_by("chain")),
        answer=filing_answer(event) if is_standing else None,
        still_due=list(obligations_due(now, event.appliance)) if is_standing else [],
        instruments=instruments,
        opening=opening,
        cautions=[
            *event_cautions(event, charge, opening, instruments),
            *recovery_cautions(event, charge),
            *certificate_cautions(event, charge),
        ]
        if is_standing
        else [],
        is_owner_told=event.appliance.service_events.filter(
            STANDING, owner_told_on__gte=event.happened_on
        ).exists(),
        is_signature_of_former=_is_signature_of_former(event),
    )


def _is_signature_of_former(event: ServiceEvent) -> bool:
    former = event.supersedes
    signature = (event.signature_name, event.signature_svg_path)
    return (
        former is not None
        and any(signature)
        and signature == (former.signature_name, former.signature_svg_path)
    )


def moves_of(event: ServiceEvent) -> list[Move]:
    """The event's transfers as seen from its appliance, in the order typed; an amendment's reversals last."""
    return [_move(transfer, event) for transfer in event.transfers.all()]


def _move(transfer: Transfer, event: ServiceEvent) -> Move:
    is_addition = transfer.to_holder.appliance_id == event.appliance_id
    other = transfer.from_holder if is_addition else transfer.to_holder
    return Move(transfer, is_addition, other)


def figures_of(statement: Statement) -> str:
    """The figures of a statement in words, such as the new full charge and how it was determined."""
    details: dict[str, Any] = statement.details
    parts = []
    if "refrigerant" in details:
        parts.append(details["refrigerant"])
    if "full_charge_mg" in details:
        mass_mg = details["full_charge_mg"]
        parts.append(f"full charge {format_mass(mass_mg)} ({format_mass(mass_mg, 'kg')})")
    if method := details.get("method"):
        parts.append(str(FullChargeMethod(method).label) if method in FullChargeMethod.values else method)
    if "year" in details:
        parts.append(f"for {details['year']}")
    return ", ".join(parts)
