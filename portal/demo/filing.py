"""Turns the stories' visits into submissions and files them, oldest first."""

import random
import uuid
from dataclasses import replace
from datetime import datetime, time, timedelta
from decimal import Decimal

from jobs.models import Appliance, Leak, OpeningKind, ServiceEvent, Technician, TransferReason, WorkKind
from jobs.services.entries import EnteredMass
from jobs.services.events import service_event_file
from jobs.services.submission import (
    EventSubmission,
    InspectionEntry,
    LeakEntry,
    RepairEntry,
    StatementEntry,
    TestEntry,
    TransferEntry,
)
from portal.accounts.models import Role
from portal.demo.firm import Firm
from portal.demo.instruments import NO_KIT, Kit
from portal.demo.logs import with_logs
from portal.demo.registers import Registers
from portal.demo.stock import Storekeeper, tenths_of_pounds
from portal.demo.visits import LEAK_PLACES, Visit

INITIAL = "initial_verification_test"
FOLLOW_UP = "follow_up_verification_test"

#: The former contractor and the other one, both invented.
OTHER_NAMES = {"former_records": "Pellam Refrigeration Service", "other_contractor": "Drayton Mechanical"}


#: The apprentice came with the technician in this many last days, to every fifth appliance.
APPRENTICE_DAYS = 250
APPRENTICE_EVERY = 5


class VisitFiler:
    """Files visits as the people of the demo firm would have, each on its own day."""

    def __init__(self, firm: Firm, registers: Registers, now: datetime, source: random.Random) -> None:
        self._firm = firm
        self._registers = registers
        self._now = now
        self._source = source
        self._store = Storekeeper(registers.user(Role.OFFICE_ADMIN), registers.cylinders)

    def file(self, appliance: Appliance, visit: Visit) -> ServiceEvent:
        """File one visit and let the storekeeper clear full cylinders afterwards."""
        on = self._firm.today - timedelta(days=visit.days_ago)
        filed_at = min(datetime.combine(on, time(16, 40), tzinfo=appliance.site.zone), self._now)
        submission = self._submission(appliance, visit)
        filing = service_event_file(
            by=self._registers.user(Role.TECHNICIAN), submission=submission, filed_at=filed_at
        )
        if visit.days_ago > 0:
            self._store.ship_full_cylinders(on, filed_at)
        return filing.event

    def _submission(self, appliance: Appliance, visit: Visit) -> EventSubmission:
        is_own = visit.origin == "own"
        contact = appliance.site.customer.contact_name
        on = self._firm.today - timedelta(days=visit.days_ago)
        technician, supervisor = self._people(appliance, visit) if is_own else (None, None)
        is_opened = visit.evacuates or visit.reason == TransferReason.DISPOSAL
        kit = self._kit(technician, supervisor)
        return EventSubmission(
            submission_id=uuid.UUID(int=self._source.getrandbits(128), version=4),
            appliance=appliance,
            happened_on=on,
            origin=visit.origin,
            contractor_name=OTHER_NAMES.get(visit.origin, ""),
            technician=technician,
            supervisor=supervisor,
            work_kinds=_work_kinds(visit),
            work_done=visit.text,
            is_circuit_opened=is_opened,
            recovery_machine=kit.recovery_machine
            if is_own and (is_opened or visit.removed_fraction)
            else None,
            gauge=kit.gauge if is_own and is_opened else None,
            opening_kind=_opening_kind(visit) if is_opened else "",
            final_vacuum=Decimal(400) if is_opened else None,
            final_vacuum_unit="micron" if is_opened else "",
            transfers=tuple(
                with_logs(
                    [
                        replace(entry, scale=kit.scale if is_own else None)
                        for entry in self._transfers(appliance, visit)
                    ],
                    visit,
                )
            ),
            inspection=self._inspection(visit),
            leaks_found=tuple(
                LeakEntry(f"new-{position}", *LEAK_PLACES[place])
                for position, place in enumerate(visit.finds_leaks, start=1)
            ),
            repairs=tuple(
                RepairEntry(
                    leak=_leak(appliance, number),
                    work_done="Joint reflowed and part replaced where worn.",
                    is_evacuated=visit.evacuates,
                )
                for number in visit.repairs
            ),
            tests=tuple(self._tests(appliance, visit)),
            statements=tuple(StatementEntry(kind, details) for kind, details in visit.statements),
            signature_name=contact if is_own else "",
            signature_svg_path="",
            owner_told_on=on if visit.owner_decision else None,
            owner_told_name=contact if visit.owner_decision else "",
            owner_decision=visit.owner_decision,
            is_separate_visit=False,
        )

    def _people(self, appliance: Appliance, visit: Visit) -> tuple[Technician | None, Technician | None]:
        apprentice = self._registers.technicians["Jonah Tremblecourt"]
        is_apprentice_visit = (
            visit.days_ago < APPRENTICE_DAYS and appliance.pk % APPRENTICE_EVERY == 0 and not visit.repairs
        )
        if is_apprentice_visit:
            return apprentice, appliance.technician
        return appliance.technician, None

    def _kit(self, technician: Technician | None, supervisor: Technician | None) -> Kit:
        """What whoever is certified carries."""
        kits = self._registers.kits
        return next(
            (
                kits[person.full_name]
                for person in (technician, supervisor)
                if person and person.full_name in kits
            ),
            NO_KIT,
        )

    def _transfers(self, appliance: Appliance, visit: Visit) -> list[TransferEntry]:
        on = self._firm.today - timedelta(days=visit.days_ago)
        refrigerant, customer = appliance.refrigerant, appliance.site.customer
        removed = _mass(appliance, visit.removed_fraction, visit.removed_lb)
        added = _mass(appliance, visit.added_fraction, visit.added_lb)
        entries: list[TransferEntry] = []
        returns_own = bool(removed and added)
        if removed:
            entries += [
                TransferEntry("out", cylinder, part, visit.reason, None)
                for cylinder, part in self._store.recover(refrigerant, removed, customer, on)
            ]
        if added:
            if visit.origin != "own":
                return [*entries, TransferEntry("in", None, added, visit.reason, None)]
            if returns_own or visit.reason == TransferReason.SEASONAL_VARIANCE:
                drawn = self._store.give_back(refrigerant, added, customer)
            else:
                drawn = self._store.take(refrigerant, added, on)
            leak = "new-1" if visit.finds_leaks else None
            entries += [TransferEntry("in", cylinder, part, visit.reason, leak) for cylinder, part in drawn]
        return entries

    @staticmethod
    def _inspection(visit: Visit) -> InspectionEntry | None:
        if not (visit.inspects or visit.finds_leaks):
            return None
        return InspectionEntry(methods="Electronic detector, Bubble solution", is_complete=True, note="")

    @staticmethod
    def _tests(appliance: Appliance, visit: Visit) -> list[TestEntry]:
        tests = []
        for number in visit.tested:
            leak = _leak(appliance, number)
            if visit.initial is not None:
                tests.append(TestEntry(leak, INITIAL, "Nitrogen pressure and bubble solution", visit.initial))
            if visit.follow_up is not None:
                tests.append(TestEntry(leak, FOLLOW_UP, "Electronic detector", visit.follow_up))
        return tests


def _mass(appliance: Appliance, fraction: float, pounds: str) -> EnteredMass | None:
    if pounds:
        return EnteredMass.parse(pounds, "lb")
    return _share(appliance, fraction) if fraction else None


def _share(appliance: Appliance, fraction: float) -> EnteredMass:
    return tenths_of_pounds(Decimal(appliance.full_charge_mg) * Decimal(str(fraction)))


def _leak(appliance: Appliance, number: int) -> Leak:
    return Leak.objects.get(appliance=appliance, number=number)


def _opening_kind(visit: Visit) -> str:
    return OpeningKind.DISPOSAL if visit.reason == TransferReason.DISPOSAL else OpeningKind.MAJOR


def _work_kinds(visit: Visit) -> tuple[str, ...]:
    kinds = {
        WorkKind.LEAK_INSPECTION: visit.inspects or visit.finds_leaks,
        WorkKind.LEAK_REPAIR: visit.repairs,
        WorkKind.VERIFICATION: visit.tested,
        WorkKind.INSTALLATION: visit.reason == TransferReason.INSTALLATION,
        WorkKind.SEASONAL: visit.reason == TransferReason.SEASONAL_VARIANCE,
        WorkKind.DISPOSAL: visit.reason == TransferReason.DISPOSAL,
    }
    return tuple(kind.value for kind, is_so in kinds.items() if is_so) or (WorkKind.SERVICE.value,)
