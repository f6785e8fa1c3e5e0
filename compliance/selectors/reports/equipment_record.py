"""The equipment record of European and British appliances: the fields of Article 7, one section an appliance."""

from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any

from django.conf import settings

from compliance.rulebook.inventory import GwpBasis, co2e_t, gwp
from compliance.rulebook.refrigerants import Refrigerant
from compliance.selectors.facts_in_bulk import ApplianceFacts, facts_in_batches
from compliance.selectors.reports.document import Column, ColumnKind, ReportDocument, Row, Section, Table
from compliance.selectors.reports.gas_sources import GasSources, gas_sources, source_words
from compliance.selectors.reports.in_force import charge_on, refrigerant_on
from compliance.selectors.reports.masses import kilograms
from compliance.selectors.reports.parameters import Progress, ReportParameters
from compliance.selectors.visit_rows import with_rows
from jobs.models import (
    Certification,
    Jurisdiction,
    ServiceEvent,
    StatementKind,
    Technician,
    Transfer,
    TransferReason,
)
from jobs.selectors.events import LEGAL_ORDER, events_standing
from jobs.selectors.history import as_known

APPLIANCE_COLUMNS = (
    Column("Appliance", width=24),
    Column("Site", width=24),
    Column("Operator", width=24),
    Column("Serial number", width=14),
    Column("Installed on", ColumnKind.DATE, width=12),
    Column("Gas", width=11),
    Column("Contains (kg)", ColumnKind.MASS, width=12),
    Column("Added at installation (kg)", ColumnKind.MASS, width=12),
    Column("GWP", ColumnKind.NUMBER, width=10),
    Column("CO2 equivalent (t)", ColumnKind.NUMBER, width=12),
    Column("Hermetically sealed", width=10),
)
COLUMNS = (
    Column("Date", ColumnKind.DATE, width=12),
    Column("Record", width=12),
    Column("What", width=22),
    Column("Gas", width=11),
    Column("Mass (kg)", ColumnKind.MASS, width=12),
    Column("Result or remark", width=50),
    Column("Undertaking", width=34),
    Column("Person and certificate", width=46),
)
ARTICLES = {
    Jurisdiction.EU: "Regulation (EU) 2024/573, Art. 7(1)",
    Jurisdiction.UK: "Regulation (EU) No 517/2014 as retained in Great Britain, Art. 6(1)",
}
AT_INSTALLATION = "Added at installation"
NOTES = (
    (
        "Operator and servicing undertaking each keep the record for at least five years (Art. 7(2); Art. "
        "6(2) in Great "
        "Britain)."
    ),
    (
        "Gas that was recycled or reclaimed says so, and from whom it was bought, with name, address and certificate "
        "number of the facility as far as they were recorded with the purchase (Art. 7(1)(d); Art. 6(1) in Great "
        "Britain)."
    ),
)


def equipment_record(parameters: ReportParameters, progress: Progress) -> ReportDocument:
    """Make the records of the appliances in the European Union and Great Britain, from their first entry to the day.

    Source: Regulation (EU) 2024/573, Art. 7(1)(a) to (g) and 7(2); Regulation (EU) No 517/2014, Art. 6.
    """
    appliances = parameters.appliances_in(ARTICLES)
    total = appliances.count()
    listed: list[Row] = []
    sections: list[Section] = []
    for batch in facts_in_batches(appliances, parameters.known_at):
        progress(len(sections), total)
        entries, filled = _entries_of(batch, parameters)
        for one in batch:
            gas = _gas(one, filled[one.appliance.pk], parameters.as_of)
            listed.append(_listed(one, gas))
            sections.append(_section(one, gas, entries[one.appliance.pk]))
    nothing = "No appliance at a site in the European Union or Great Britain is asked about."
    all_of_them = Table("Appliances", APPLIANCE_COLUMNS, tuple(listed), empty=nothing)
    return ReportDocument(
        title="Equipment record",
        whose=parameters.whose,
        facts=(*parameters.facts, ("Servicing undertaking", settings.FIRM_NAME), *_own_certificates()),
        sections=(Section("Appliances", tables=(all_of_them,)), *sections),
        notes=NOTES,
    )


def _own_certificates() -> Iterator[tuple[str, str]]:
    """The certificates of the firm itself, as an undertaking (Art. 7(1)(e), 10(2))."""
    for place, number in (
        ("the European Union", settings.FIRM_CERTIFICATE_EU),
        ("Great Britain", settings.FIRM_CERTIFICATE_GB),
    ):
        yield f"Its certificate in {place}", number or "none on record"


def _entries_of(
    batch: list[ApplianceFacts], parameters: ReportParameters
) -> tuple[defaultdict[int, list[Row]], Counter[int]]:
    """The entries of each appliance up to the day, in the order of the record, and the milligrams it was filled with.

    What was added at installation the record shows separately (Art. 7(1)(a)).
    """
    standing = events_standing(parameters.known_at).filter(
        appliance__in=[one.appliance.pk for one in batch], happened_on__lte=parameters.as_of
    )
    events = list(with_rows(standing.order_by(*LEGAL_ORDER)))
    people = _then(Technician, parameters, (event.technician_id for event in events))
    certificates = _then(Certification, parameters, (event.certification_id for event in events))
    moved = [row for event in events for row in event.transfers.all()]
    drawn_on = {row.from_holder_id for row in moved if row.from_holder.cylinder_id is not None}
    sources = gas_sources(drawn_on, parameters.known_at)
    entries: defaultdict[int, list[Row]] = defaultdict(list)
    filled: Counter[int] = Counter()
    for event in events:
        filled[event.appliance_id] += sum(
            row.mass_mg for row in event.transfers.all() if _is_filling(event, row)
        )
        person, certificate = people.get(event.technician_id), certificates.get(event.certification_id)
        entries[event.appliance_id].extend(_entries(event, sources, _person(person, certificate)))
    return entries, filled


def _then(model: type[Any], parameters: ReportParameters, ids: Iterable[int | None]) -> dict[int | None, Any]:
    """Rows of a register by their ids, as they stood at the instant."""
    wanted = {pk for pk in ids if pk is not None}
    return {row.pk: row for row in as_known(model, parameters.known_at, ids=wanted)}


@dataclass(frozen=True)
class _Gas:
    """What an appliance contains on the day; ``potential`` is none where the basis of its place gives none."""

    refrigerant: Refrigerant
    charge_mg: int
    filled_mg: int
    potential: Decimal | None

    @property
    def equivalent_t(self) -> Decimal | None:
        """In tonnes of CO2 equivalent, with two places."""
        if self.potential is None:
            return None
        return co2e_t(self.charge_mg, self.potential).quantize(Decimal("0.01"))


def _gas(one: ApplianceFacts, filled_mg: int, as_of: date) -> _Gas:
    refrigerant = refrigerant_on(one.described, one.facts, as_of)
    is_in_the_union = one.registered.site.jurisdiction == Jurisdiction.EU
    return _Gas(
        refrigerant=refrigerant,
        charge_mg=charge_on(one.described, one.facts, as_of),
        filled_mg=filled_mg,
        potential=gwp(refrigerant, GwpBasis.EU_2024_573) if is_in_the_union else refrigerant.gwp_ar4,
    )


def _listed(one: ApplianceFacts, gas: _Gas) -> Row:
    appliance = one.registered
    return (
        appliance.name,
        appliance.site.name,
        appliance.site.customer.name,
        appliance.serial_number,
        appliance.installed_on,
        gas.refrigerant.designation,
        kilograms(gas.charge_mg),
        kilograms(gas.filled_mg) if gas.filled_mg else None,
        gas.potential,
        gas.equivalent_t,
        "yes" if appliance.is_hermetically_sealed else "no",
    )


def _section(one: ApplianceFacts, gas: _Gas, entries: list[Row]) -> Section:
    appliance, site = one.registered, one.registered.site
    equivalent = (
        "" if gas.potential is None else f", {gas.equivalent_t} t CO2 equivalent (GWP {gas.potential})"
    )
    filled = (
        f"Added at installation: {kilograms(gas.filled_mg)} kg."
        if gas.filled_mg
        else "No filling at installation is on record."
    )
    return Section(
        f"{site.name}: {appliance.name}",
        (
            (
                f"{ARTICLES[Jurisdiction(site.jurisdiction)]}. Operator: {site.customer.name}. "
                f"Address: {', '.join(site.address_lines)}."
            ),
            (
                f"Contains {kilograms(gas.charge_mg)} kg of {gas.refrigerant}{equivalent}; "
                f"{appliance.get_full_charge_method_display().lower()}. Installed {appliance.installed_on}. "
                f"{'Hermetically sealed. ' if appliance.is_hermetically_sealed else ''}"
                f"Serial number: {appliance.serial_number or 'none on record'}. {filled}"
            ),
        ),
        (
            Table(
                f"{appliance.name} {appliance.pk}",
                COLUMNS,
                tuple(entries),
                empty="No entry is on record yet.",
            ),
        ),
    )


def _is_filling(event: ServiceEvent, row: Transfer) -> bool:
    is_added = row.reverses_id is None and row.to_holder.appliance_id == event.appliance_id
    return is_added and row.reason == TransferReason.INSTALLATION


def _entries(event: ServiceEvent, sources: GasSources, person: str) -> Iterator[Row]:
    """An event's entries: gas in and out, checks, repairs, tests, decommissioning."""
    # A visit that did none of these is on record all the same, with who made it (Art. 7(1)(e)).
    lines = list(_lines(event, sources)) or [("Serviced", "", None, event.work_done)]
    for what, gas, mass_kg, remark in lines:
        yield (
            event.happened_on,
            event.reference,
            what,
            gas,
            mass_kg,
            remark,
            event.contractor_name or settings.FIRM_NAME,
            person,
        )


def _lines(event: ServiceEvent, sources: GasSources) -> Iterator[tuple[str, str, Decimal | None, str]]:
    for row in event.transfers.all():
        if row.reverses_id is not None:
            continue
        if row.to_holder.appliance_id == event.appliance_id:
            what = AT_INSTALLATION if _is_filling(event, row) else "Added"
            bought = sources.bought(row.from_holder_id, event.happened_on)
            source = source_words(bought, is_recycled=row.is_recycled)
        else:
            what, source = "Recovered", ""
        remark = "; ".join(filter(None, (row.get_reason_display(), source)))
        yield what, row.refrigerant, kilograms(row.mass_mg), remark
    inspection = getattr(event, "leak_inspection", None)
    if inspection is not None:
        found = [
            f"{finding.leak}: {finding.part}, {finding.location}" for finding in event.leak_findings.all()
        ]
        yield "Leak check", "", None, f"{inspection.methods}. {'; '.join(found) or 'No leak found.'}"
    for repair in event.repairs.all():
        yield f"Repair of {repair.leak}", "", None, repair.work_done
    for test in event.verification_tests.all():
        yield (
            f"Check after repair, {test.leak}",
            "",
            None,
            f"{'Passed' if test.is_passed else 'Failed'}: {test.method}",
        )
    for statement in event.statements.all():
        if statement.kind == StatementKind.RETIRED:
            yield "Decommissioned", "", None, event.work_done


def _person(technician: Technician | None, certificate: Certification | None) -> str:
    """Who did the work and under which certificate (Art. 7(1)(e))."""
    if technician is None:
        return ""
    if certificate is None:
        return f"{technician.full_name}, no certificate named"
    kind = certificate.get_type_display().partition(":")[0].partition(",")[0]
    return f"{technician.full_name}, {kind} no. {certificate.number}"
