"""A facility as records about its leak rate method see it, and one such record as its page shows it."""

import datetime
from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace
from typing import Any, TypeVar

from django.db.models import QuerySet

from compliance.rulebook.facts import LeakRateMethod
from compliance.rulebook.holding import AskedDay
from compliance.rulebook.masses import format_mass
from compliance.rulebook.method_change import Facility, FacilityAppliance, newest_rates
from compliance.rulebook.results import LeakRate
from compliance.rulebook.rules import US_FEDERAL_HFC
from compliance.rulebook.timeline import build_timeline
from compliance.selectors.facts import describe, records_of, rules_for
from jobs.models import Appliance, ChainLink, LeakRateMethodChange, LeakRateMethodCorrection, Site
from jobs.selectors.amendments import newer_record, record_line
from jobs.selectors.method_changes import (
    UNDER_US_LAW,
    method_changes_standing,
    method_on,
)

CHANGE_KIND, CORRECTION_KIND = "method_change", "method_correction"

AnyRecord = LeakRateMethodChange | LeakRateMethodCorrection
Record = TypeVar("Record", LeakRateMethodChange, LeakRateMethodCorrection)


def facility_of(
    site: Site, on: datetime.date, *, without: LeakRateMethodChange | None = None
) -> tuple[Facility, list[Appliance]]:
    """A site with its appliances and their facts, as the records tell of them now.

    Args:
        site: with its customer.
        on: the day of the change.
        without: a change that is being amended, and so doesn't count.
    """
    facility, rows = facility_described(site)
    others = Site.objects.filter(customer=site.customer, jurisdiction__in=UNDER_US_LAW).exclude(pk=site.pk)
    changes = method_changes_standing().filter(site=site)
    if without:
        changes = changes.exclude(pk=without.pk)
    known = replace(
        facility,
        owners_methods=frozenset(LeakRateMethod(method_on(other, on)) for other in others),
        changed_on=tuple(changes.values_list("happened_on", flat=True)),
    )
    return known, rows


def facility_described(site: Site) -> tuple[Facility, list[Appliance]]:
    """A site with its appliances and their facts alone."""
    rows = list(site.appliances.select_related("site").order_by("pk"))
    records = records_of([row.pk for row in rows])
    appliances = tuple(
        FacilityAppliance(row.name, describe(row), tuple(records[row.pk].facts())) for row in rows
    )
    return Facility(rules=rules_for(site), appliances=appliances), rows


def facility_snapshot(
    site: Site,
    facility: Facility,
    rows: list[Appliance],
    on: datetime.date,
    *,
    among: Collection[str] = (US_FEDERAL_HFC,),
) -> dict[str, Any]:
    """What 40 CFR 84.106(l)(3) wants on record beside a change, in JSON's own types: rates in percent.

    Args:
        site: with its customer.
        facility: the site with its appliances,
        rows: and these as registered.
        on: additions up to and on this day count.
        among: the rules whose leak rates count; 40 CFR 84.106 unless given.
    """
    return {
        "owner_or_operator": str(site.customer),
        "facility": site.name,
        "facility_address": ", ".join(site.address_lines),
        "appliances": [
            _appliance(row, appliance, facility, on, among)
            for row, appliance in zip(rows, facility.appliances, strict=True)
        ],
    }


def _appliance(
    row: Appliance,
    appliance: FacilityAppliance,
    facility: Facility,
    on: datetime.date,
    among: Collection[str],
) -> dict[str, Any]:
    state = build_timeline(appliance.described, appliance.facts, AskedDay.of(on)).final_state
    rates = newest_rates(appliance, on, facility.rules, among=among)
    return {
        "id": row.pk,
        "appliance": row.name,
        "serial_number": row.serial_number,
        "location": row.location,
        "refrigerant": state.refrigerant.designation,
        "full_charge_mg": state.full_charge_mg,
        "rates": {method.value: rate and _rate(rate) for method, rate in rates.items()},
    }


def whole_facility_records(model: type[Record]) -> QuerySet[Record]:
    """Changes of the method, or corrections of the register, with all that is shown of them."""
    return model.objects.select_related("site__customer", "filed_by", "supersedes", "superseded_by__filed_by")


@dataclass(frozen=True)
class ApplianceResults:
    """One appliance's newest rates when it was filed: by the annualizing and the rolling average method."""

    name: str
    facts: str
    annualizing: str
    rolling_average: str


@dataclass(frozen=True)
class FacilityRecordShown:
    """A record as it is shown: results of both methods, the instant at the site, versions, and chains."""

    results: list[ApplianceResults]
    filed_at: datetime.datetime
    versions: Sequence[AnyRecord]
    newer: AnyRecord | None
    links: list[ChainLink]

    @property
    def is_standing(self) -> bool:
        """Whether it counts."""
        return self.newer is None


def facility_record_shown(
    record: Record, *, known_at: datetime.datetime | None = None
) -> FacilityRecordShown:
    """Gather what the page of a record shows.

    Args:
        record: from ``whole_facility_records``.
        known_at: versions filed later don't count; now unless given.
    """
    kind = CHANGE_KIND if isinstance(record, LeakRateMethodChange) else CORRECTION_KIND
    links = ChainLink.objects.filter(record_kind=kind, record_id=record.pk)
    return FacilityRecordShown(
        results=[_results(row) for row in record.facility["appliances"]],
        filed_at=record.filed_at.astimezone(record.site.zone),
        versions=list(record_line(record, known_at)),
        newer=newer_record(record, known_at),
        links=list(links.order_by("chain")),
    )


def _results(row: dict[str, Any]) -> ApplianceResults:
    number = f", no. {row['serial_number']}" if row["serial_number"] else ""
    return ApplianceResults(
        name=row["appliance"],
        facts=f"{format_mass(row['full_charge_mg'])} of {row['refrigerant']}{number}",
        **{method.value: _in_words(row["rates"][method.value]) for method in LeakRateMethod},
    )


def _in_words(rate: dict[str, str] | None) -> str:
    if rate is None:
        return "none calculated"
    return f"{rate['leak_rate_pct']} % on {rate['on']}, threshold {rate['threshold_pct']} %"


def _rate(rate: LeakRate) -> dict[str, str]:
    return {
        "on": rate.on.isoformat(),
        "leak_rate_pct": f"{rate.percent_rounded}",
        "threshold_pct": f"{rate.threshold_pct.normalize():f}",
    }
