"""The figures that California's annual report asks for: each system's year, each facility's refrigerant."""

from collections import defaultdict
from datetime import date

from compliance.rulebook.assess import assess
from compliance.rulebook.facts import FactKind
from compliance.rulebook.rules import US_CALIFORNIA
from compliance.rulebook.tables import load_tables
from compliance.selectors.facts_in_bulk import ApplianceFacts, facts_in_bulk
from compliance.selectors.reports.document import Column, ColumnKind, ReportDocument, Row, Section, Table
from compliance.selectors.reports.in_force import charge_on, refrigerant_on
from compliance.selectors.reports.masses import kilograms, pounds
from compliance.selectors.reports.parameters import Progress, ReportParameters
from jobs.models import Jurisdiction

SYSTEM_COLUMNS = (
    Column("Facility", width=24),
    Column("System", width=24),
    Column("Serial number"),
    Column("Refrigerant", width=12),
    Column("Full charge (lb)", ColumnKind.MASS, width=12),
    Column("Size", width=28),
    Column("Charged (lb)", ColumnKind.MASS, width=12),
    Column("Recovered (lb)", ColumnKind.MASS, width=12),
    Column("Inspections", ColumnKind.COUNT, width=10),
    Column("Repairs", ColumnKind.COUNT, width=10),
    Column("Service visits", ColumnKind.COUNT, width=10),
)
FACILITY_COLUMNS = (
    Column("Facility", width=24),
    Column("Refrigerant", width=12),
    Column("Charged (lb)", ColumnKind.MASS, width=12),
    Column("Charged (kg)", ColumnKind.MASS, width=12),
    Column("Recovered (lb)", ColumnKind.MASS, width=12),
    Column("Recovered (kg)", ColumnKind.MASS, width=12),
)
OUTSIDE_COLUMNS = (
    Column("Facility", width=24),
    Column("Appliance", width=24),
    Column("Why", width=60),
)
MOVES = (FactKind.ADDITION, FactKind.REMOVAL)
SMALL_TOO = (
    "Medium and large systems are reported by 1 March of the next year (17 CCR 95388); small ones are listed, but not "
    "reported."
)
STOCK_ELSEWHERE = (
    "What was bought, stored and shipped is the firm's and not one facility's: it stands in the report on the mass "
    "balance."
)

#: (facility, designation) -> milligrams charged and recovered.
Masses = defaultdict[tuple[str, str], list[int]]


def california_report(parameters: ReportParameters, progress: Progress) -> ReportDocument:
    """Make the figures of a calendar year for systems at sites in California that the program covers.

    Source: 17 CCR 95388 (its content from memory: for each system service, inspections and repairs; for each facility
    refrigerant purchased, charged, recovered, stored and shipped).
    """
    end_on = min(date(parameters.year, 12, 31), parameters.as_of)
    appliances = parameters.appliances_in([Jurisdiction.US_CALIFORNIA]).filter(installed_on__lte=end_on)
    total = appliances.count()
    systems: list[Row] = []
    outside: list[Row] = []
    facilities: Masses = defaultdict(lambda: [0, 0])
    for done, one in enumerate(facts_in_bulk(appliances, parameters.known_at)):
        progress(done, total)
        verdict = _verdict(one, end_on)
        if verdict:
            outside.append((_facility(one), one.registered.name, verdict))
        else:
            systems.append(_system(one, parameters.year, end_on, facilities))
    return ReportDocument(
        title=f"Figures for California's annual report {parameters.year}",
        whose=parameters.whose,
        facts=parameters.facts,
        sections=(
            Section(
                "Systems", (SMALL_TOO,), (_table("Systems", SYSTEM_COLUMNS, systems, "None is covered."),)
            ),
            Section("Facilities", (STOCK_ELSEWHERE,), (_facilities(facilities),)),
            Section(
                "Appliances that the program doesn't cover",
                tables=(_table("Not covered", OUTSIDE_COLUMNS, outside, "None."),),
            ),
        ),
        notes=(
            "What the report asks for rests on memory of 17 CCR 95388: check it against the state's own form.",
        ),
    )


def _table(name: str, columns: tuple[Column, ...], rows: list[Row], empty: str) -> Table:
    return Table(name, columns, tuple(rows), empty=empty)


def _facilities(masses: Masses) -> Table:
    rows: list[Row] = [
        (*key, pounds(added), kilograms(added), pounds(removed), kilograms(removed))
        for key, (added, removed) in sorted(masses.items())
    ]
    return _table("Facilities", FACILITY_COLUMNS, rows, "Nothing was charged or recovered in the year.")


def _facility(one: ApplianceFacts) -> str:
    site = one.registered.site
    return f"{site.customer.name}, {site.name}"


def _verdict(one: ApplianceFacts, end_on: date) -> str:
    """Why the program doesn't cover the appliance on the last day; nothing where it does."""
    answer = assess(
        one.described, [fact for fact in one.facts if fact.on <= end_on], as_of=end_on, rules=(US_CALIFORNIA,)
    )
    if any(verdict.rule == US_CALIFORNIA for verdict in answer.applies):
        return ""
    return " ".join(verdict.because for verdict in answer.does_not_apply)


def _system(one: ApplianceFacts, year: int, end_on: date, facilities: Masses) -> Row:
    refrigerant = refrigerant_on(one.described, one.facts, end_on)
    charge_mg = charge_on(one.described, one.facts, end_on)
    size = load_tables().row(US_CALIFORNIA, "leak_inspection_interval", on=end_on, full_charge_mg=charge_mg)
    of_year = [fact for fact in one.facts if fact.on.year == year and fact.on <= end_on]
    moved = dict.fromkeys(MOVES, 0)
    for fact in of_year:
        if fact.kind in moved and fact.mass_mg is not None:
            moved[fact.kind] += fact.mass_mg
            name = refrigerant_on(one.described, one.facts, fact.on).designation
            facilities[_facility(one), name][0 if fact.kind == FactKind.ADDITION else 1] += fact.mass_mg
    return (
        _facility(one),
        one.registered.name,
        one.registered.serial_number,
        refrigerant.designation,
        pounds(charge_mg),
        size.applies_to,
        pounds(moved[FactKind.ADDITION]),
        pounds(moved[FactKind.REMOVAL]),
        sum(fact.kind == FactKind.LEAK_INSPECTION for fact in of_year),
        sum(fact.kind == FactKind.REPAIR for fact in of_year),
        len({fact.event for fact in of_year if fact.event}),
    )
