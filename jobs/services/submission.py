"""What is typed about one visit to one appliance, before it becomes a service event."""

import datetime
from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any
from uuid import UUID

from jobs.models import (
    Appliance,
    Cylinder,
    Instrument,
    Leak,
    RecoveryMachine,
    Technician,
    TransferReason,
    WorkOrigin,
)
from jobs.services.entries import EnteredMass
from jobs.services.log_entries import LogEntry

# A leak that is on record, or the form's own name of one that the same submission reports.
LeakRef = Leak | str

INTO_APPLIANCE = "in"
OUT_OF_APPLIANCE = "out"


@dataclass(frozen=True)
class TransferEntry:
    """One weighed transfer; ``direction`` is ``in`` (into the appliance) or ``out`` (out of it).

    Without a cylinder the other side is another contractor's stock. ``refrigerant`` is the appliance's unless given.
    ``is_recycled`` says that recovered refrigerant was recycled before it goes in.
    """

    direction: str
    cylinder: Cylinder | None
    mass: EnteredMass
    reason: str = TransferReason.SERVICE
    leak: LeakRef | None = None
    refrigerant: str = ""
    scale: Instrument | None = None
    log: LogEntry | None = None
    is_recycled: bool = False


@dataclass(frozen=True)
class LeakEntry:
    """Where a leak is; ``reference`` is the form's own name of it, ``leak`` the identity it already has, if any."""

    reference: str
    part: str
    location: str
    leak: Leak | None = None


@dataclass(frozen=True)
class InspectionEntry:
    """A leak inspection of the whole appliance, or of a part if it is not complete."""

    methods: str
    is_complete: bool = True
    note: str = ""


@dataclass(frozen=True)
class RepairEntry:
    """A repair of one leak."""

    leak: LeakRef
    work_done: str
    is_evacuated: bool = False


@dataclass(frozen=True)
class TestEntry:
    """An initial or a follow-up verification test of one leak."""

    __test__ = False  # pytest: this is no test class

    leak: LeakRef
    kind: str
    method: str
    is_passed: bool


@dataclass(frozen=True)
class StatementEntry:
    """A further fact, with the rulebook's own keys in ``details`` (dates as ISO 8601 text or dates, masses as mg)."""

    kind: str
    details: Mapping[str, Any] = field(default_factory=dict)


@dataclass(frozen=True)
class EventSubmission:
    """All that is typed about one visit; ``submission_id`` is made by the form, so that sending twice files once."""

    submission_id: UUID
    appliance: Appliance
    happened_on: datetime.date
    technician: Technician | None
    work_done: str
    origin: str = WorkOrigin.OWN
    contractor_name: str = ""
    supervisor: Technician | None = None
    work_kinds: tuple[str, ...] = ()
    is_circuit_opened: bool = False
    opening_kind: str = ""
    opening_note: str = ""
    is_compressor_running: bool | None = None
    recovery_machine: RecoveryMachine | None = None
    gauge: Instrument | None = None
    final_vacuum: Decimal | None = None
    final_vacuum_unit: str = ""
    transfers: tuple[TransferEntry, ...] = ()
    inspection: InspectionEntry | None = None
    leaks_found: tuple[LeakEntry, ...] = ()
    repairs: tuple[RepairEntry, ...] = ()
    tests: tuple[TestEntry, ...] = ()
    statements: tuple[StatementEntry, ...] = ()
    signature_name: str = ""
    signature_svg_path: str = ""
    owner_told_on: datetime.date | None = None
    owner_told_name: str = ""
    owner_decision: str = ""
    is_separate_visit: bool = False
