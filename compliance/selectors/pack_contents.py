"""What belongs in a record pack: appliances, records of a period with all their versions, and whole hash chains."""

import datetime
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property

from django.db.models import Q, QuerySet

from compliance.selectors.event_record import RECORD_KIND, whole_events
from compliance.selectors.filing_record import RECORD_KIND as FILING_KIND
from compliance.selectors.filing_record import whole_filings
from compliance.selectors.method_changes import CHANGE_KIND, CORRECTION_KIND, whole_facility_records
from jobs.models import (
    Appliance,
    CaseFiling,
    ChainLink,
    Customer,
    FilingAttachment,
    FullChargeDetermination,
    LeakRateMethodChange,
    LeakRateMethodCorrection,
    ServiceEvent,
    Site,
    StockMovement,
    WeighLog,
)
from jobs.services.chain import chain_name

Record = tuple[str, int]
MOVEMENT_KIND, FULL_CHARGE_KIND = "stock_movement", "full_charge"


@dataclass(frozen=True)
class PackScope:
    """Whose records, of which visits, as known at which instant; one of the three subjects is given.

    ``asked_by`` and ``asked_at`` are printed, and decide nothing.
    """

    happened_from: datetime.date
    happened_to: datetime.date
    known_at: datetime.datetime
    asked_by: str
    asked_at: datetime.datetime
    customer: Customer | None = None
    site: Site | None = None
    appliance: Appliance | None = None

    @property
    def title(self) -> str:
        """Whose records they are, in words."""
        if self.appliance:
            return f"{self.appliance}, {self.appliance.site}, {self.appliance.site.customer}"
        return f"{self.site}, {self.site.customer}" if self.site else str(self.customer)

    @property
    def name(self) -> str:
        """The name of the pack's file, without its ending."""
        subjects = {"appliance": self.appliance, "site": self.site, "customer": self.customer}
        subject = next(f"{kind}-{row.pk}" for kind, row in subjects.items() if row)
        return f"record-pack-{subject}-{self.happened_from}-{self.happened_to}"

    @cached_property
    def appliances(self) -> list[Appliance]:
        """The appliances whose records they are."""
        rows = Appliance.objects.select_related("site__customer", "technician").order_by("pk")
        if self.appliance:
            return list(rows.filter(pk=self.appliance.pk))
        return list(rows.filter(site=self.site) if self.site else rows.filter(site__customer=self.customer))

    @cached_property
    def event_ids(self) -> list[int]:
        """Events of the period and every other version of them, in the order they were filed."""
        return self._lines(ServiceEvent.objects.all())

    @cached_property
    def filing_ids(self) -> list[int]:
        """Case filings of the period and every other version of them, in the order they were filed."""
        return self._lines(CaseFiling.objects.all())

    @cached_property
    def method_change_ids(self) -> list[int]:
        """Changes of the leak rate method in the period, and every other version of them, in the order of filing."""
        return self._lines_of(LeakRateMethodChange.objects.filter(pk__in=self._linked(CHANGE_KIND)))

    @cached_property
    def method_correction_ids(self) -> list[int]:
        """Corrections of that method in the register, likewise."""
        return self._lines_of(LeakRateMethodCorrection.objects.filter(pk__in=self._linked(CORRECTION_KIND)))

    @cached_property
    def documents(self) -> list[FilingAttachment]:
        """The documents that were filed with them."""
        rows = FilingAttachment.objects.filter(filing__in=self.filing_ids).select_related("file", "filing")
        return list(rows.order_by("filing", "position"))

    @cached_property
    def logs(self) -> list[WeighLog]:
        """The weigh logs of those events."""
        logs = WeighLog.objects.filter(transfer__event__in=self.event_ids, attached_at__lte=self.known_at)
        return list(logs.select_related("file").order_by("pk"))

    @cached_property
    def records(self) -> list[Record]:
        """All filed records in it, by kind and number, in the order of the chains."""
        added_later = [log.pk for log in self.logs if log.is_added_later]
        return [
            *((MOVEMENT_KIND, row.pk) for row in pack_movements(self)),
            *((FULL_CHARGE_KIND, row.pk) for row in pack_determinations(self)),
            *((RECORD_KIND, pk) for pk in self.event_ids),
            *((FILING_KIND, pk) for pk in self.filing_ids),
            *((CHANGE_KIND, pk) for pk in self.method_change_ids),
            *((CORRECTION_KIND, pk) for pk in self.method_correction_ids),
            *(("weigh_log", pk) for pk in added_later),
        ]

    @cached_property
    def chains(self) -> dict[Appliance, list[ChainLink]]:
        """The chain of each appliance up to the instant."""
        too_new = self._filed_later()
        chains = {}
        for appliance in self.appliances:
            links = ChainLink.objects.filter(chain=chain_name(appliance)).order_by("sequence")
            kept = []
            for link in links:
                if (link.record_kind, link.record_id) in too_new:
                    break
                kept.append(link)
            chains[appliance] = kept
        return chains

    def _lines(self, rows: QuerySet) -> list[int]:
        """The ids of records of the period and of every other version of them, in the order they were filed."""
        return self._lines_of(rows.filter(appliance__in=self.appliances))

    def _lines_of(self, rows: QuerySet) -> list[int]:
        filed = rows.filter(filed_at__lte=self.known_at)
        within = filed.filter(happened_on__range=(self.happened_from, self.happened_to))
        firsts = {original or pk for pk, original in within.values_list("pk", "original")}
        line = filed.filter(Q(pk__in=firsts) | Q(original__in=firsts))
        return list(line.order_by("pk").values_list("pk", flat=True))

    def _linked(self, kind: str) -> QuerySet:
        """The ids of the records of one kind that stand in the appliances' chains."""
        chains = [chain_name(appliance) for appliance in self.appliances]
        return ChainLink.objects.filter(chain__in=chains, record_kind=kind).values("record_id")

    def _filed_later(self) -> set[Record]:
        """What was filed on the appliances after the instant."""
        later: dict[str, QuerySet] = {
            RECORD_KIND: ServiceEvent.objects.filter(
                appliance__in=self.appliances, filed_at__gt=self.known_at
            ),
            FILING_KIND: CaseFiling.objects.filter(appliance__in=self.appliances, filed_at__gt=self.known_at),
            CHANGE_KIND: LeakRateMethodChange.objects.filter(
                site__appliances__in=self.appliances, filed_at__gt=self.known_at
            ),
            CORRECTION_KIND: LeakRateMethodCorrection.objects.filter(
                site__appliances__in=self.appliances, filed_at__gt=self.known_at
            ),
            MOVEMENT_KIND: StockMovement.objects.filter(
                appliance__in=self.appliances, filed_at__gt=self.known_at
            ),
            FULL_CHARGE_KIND: FullChargeDetermination.objects.filter(
                appliance__in=self.appliances, filed_at__gt=self.known_at
            ),
            "weigh_log": WeighLog.objects.filter(
                transfer__event__appliance__in=self.appliances, attached_at__gt=self.known_at
            ),
        }
        return {(kind, pk) for kind, rows in later.items() for pk in rows.values_list("pk", flat=True)}


def pack_events(scope: PackScope) -> Iterable[ServiceEvent]:
    """The events of a pack as its index lists them: by appliance and day."""
    events = whole_events().filter(pk__in=scope.event_ids)
    return events.order_by("appliance__site__name", "appliance__name", "happened_on", "pk")


def pack_filings(scope: PackScope) -> Iterable[CaseFiling]:
    """The case filings of a pack as its index lists them: by appliance and day."""
    filings = whole_filings().filter(pk__in=scope.filing_ids)
    return filings.order_by("appliance__site__name", "appliance__name", "happened_on", "pk")


def pack_method_changes(scope: PackScope) -> Iterable[LeakRateMethodChange]:
    """The changes of the leak rate method of a pack as its index lists them: by site and day."""
    changes = whole_facility_records(LeakRateMethodChange).filter(pk__in=scope.method_change_ids)
    return changes.order_by("site__name", "happened_on", "pk")


def pack_method_corrections(scope: PackScope) -> Iterable[LeakRateMethodCorrection]:
    """The corrections of the register's method of a pack as its index lists them: by site and day."""
    corrections = whole_facility_records(LeakRateMethodCorrection).filter(pk__in=scope.method_correction_ids)
    return corrections.order_by("site__name", "happened_on", "pk")


def pack_movements(scope: PackScope) -> Iterable[StockMovement]:
    """What its appliances held when their books began, up to the end of the period: what all later records rest on."""
    began = StockMovement.objects.filter(
        appliance__in=scope.appliances, filed_at__lte=scope.known_at, happened_on__lte=scope.happened_to
    )
    return began.select_related("filed_by").order_by("pk")


def pack_determinations(scope: PackScope) -> Iterable[FullChargeDetermination]:
    """Every determination of their full charges up to the end of the period (40 CFR 82.157(l)(1), 84.106(l)(1))."""
    determined = FullChargeDetermination.objects.filter(
        appliance__in=scope.appliances, filed_at__lte=scope.known_at, determined_on__lte=scope.happened_to
    )
    return determined.select_related("filed_by").order_by("pk")
