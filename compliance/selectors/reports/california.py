"""The figures that California's annual report asks for: each system's year, each facility's refrigerant."""

from collections import Counter, defaultdict
from datetime import date, timedelta

from compliance.rulebook.assess import assess
from compliance.rulebook.facts import Fact, FactKind
from compliance.rulebook.rules import US_CALIFORNIA
from compliance.rulebook.tables import load_tables
from compliance.selectors.facts_in_bulk import ApplianceFacts, facts_in_bulk
from compliance.selectors.reports.document import Column, ColumnKind, ReportDocument, Row, Section, Table
from compliance.selectors.reports.in_force import charge_on, refrigerant_on
from compliance.selectors.reports.masses import kilograms, pounds
from compliance.selectors.reports.parameters import Progress, ReportParameters
from jobs.models import Jurisdiction, Transfer
from jobs.selectors.events import events_standing

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
SMALL_TOO = (
    "Medium and large systems are reported by 1 March of the next year (17 CCR 95388); small ones are listed, but not "
    "reported. Each system that the program covered in the year stands here, with zeros where nothing was done or "
    "moved; one that left it in the year as it was before."
)
STOCK_ELSEWHERE = (
    "Each facility with such a system is listed, with zeros where nothing was charged or recovered. What was bought, "
    "stored and shipped is the firm's and not one facility's: it stands in the report on the mass balance."
)

#: (facility, designation) -> milligrams recovered and charged.
Masses = defaultdict[tuple[str, str], list[int]]


def california_report(parameters: ReportParameters, progress: Progress) -> ReportDocument:
    """Make the figures of a calendar year for systems at sites in California that the program covers.

    Source: 17 CCR 95388 (its content from memory: for each system service, inspections and repairs; for each facility
    refrigerant purchased, charged, recovered, stored and shipped). That a system or facility of which nothing moved is
    reported too follows from that "each"; no text of it was read.
    """
    begin_on, end_on = parameters.days
    appliances = parameters.appliances_in([Jurisdiction.US_CALIFORNIA]).filter(installed_on__lte=end_on)
    total = appliances.count()
    year = _Year(parameters, begin_on, end_on)
    systems: list[Row] = []
    outside: list[Row] = []
    facilities: Masses = defaultdict(lambda: [0, 0])
    for done, one in enumerate(facts_in_bulk(appliances, parameters.known_at)):
        progress(done, total)
        covered_on, why_not = _coverage(one, begin_on, end_on)
        if covered_on is None:
            outside.append((_facility(one), one.registered.name, why_not))
        else:
            systems.append(_system(one, year, covered_on, facilities))
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
        for key, (removed, added) in sorted(masses.items())
    ]
    return _table("Facilities", FACILITY_COLUMNS, rows, "None has a system that is covered.")


def _facility(one: ApplianceFacts) -> str:
    site = one.registered.site
    return f"{site.customer.name}, {site.name}"


class _Year:
    """The visits of the year, and what they moved by the ledger."""

    def __init__(self, parameters: ReportParameters, begin_on: date, end_on: date) -> None:
        self.begin_on, self.end_on = begin_on, end_on
        events = events_standing(parameters.known_at).filter(happened_on__range=(begin_on, end_on))
        self.visit_counts = Counter(events.values_list("appliance", flat=True))
        #: Appliance id -> (designation, whether it was charged, milligrams).
        self.moved: defaultdict[int, list[tuple[str, bool, int]]] = defaultdict(list)
        rows = Transfer.objects.filter(event__in=events, reverses=None).order_by()
        for appliance_id, to_id, designation, mass_mg in rows.values_list(
            "event__appliance", "to_holder__appliance", "refrigerant", "mass_mg"
        ):
            self.moved[appliance_id].append((designation, to_id == appliance_id, mass_mg))

    def facts_of(self, one: ApplianceFacts) -> list[Fact]:
        """An appliance's facts of the year."""
        return [fact for fact in one.facts if self.begin_on <= fact.on <= self.end_on]


def _coverage(one: ApplianceFacts, begin_on: date, end_on: date) -> tuple[date | None, str]:
    """The last day of the year on which the program covered the appliance, and why it didn't on the year's last.

    It leaves the program by a change of its refrigerant or full charge; no day where it never was in it.
    """
    retired = (fact.on for fact in one.facts if fact.kind is FactKind.RETIRED and fact.on < begin_on)
    if retired_on := next(retired, None):
        return None, f"It was retired on {retired_on}."
    changed = {fact.on for fact in one.facts if fact.refrigerant or fact.full_charge_mg is not None}
    first_on = max(begin_on, one.registered.installed_on)
    before = [on - timedelta(days=1) for on in sorted(changed, reverse=True) if first_on < on <= end_on]
    why_not = _verdict(one, end_on)
    if not why_not:
        return end_on, ""
    return next((day for day in before if not _verdict(one, day)), None), why_not


def _verdict(one: ApplianceFacts, on: date) -> str:
    """Why the program doesn't cover the appliance on a day; nothing where it does."""
    known = [fact for fact in one.facts if fact.on <= on]
    answer = assess(one.described, known, as_of=on, rules=(US_CALIFORNIA,))
    if any(verdict.rule == US_CALIFORNIA for verdict in answer.applies):
        return ""
    return " ".join(verdict.because for verdict in answer.does_not_apply)


def _system(one: ApplianceFacts, year: _Year, covered_on: date, facilities: Masses) -> Row:
    facility, of_year = _facility(one), year.facts_of(one)
    refrigerant = refrigerant_on(one.described, one.facts, covered_on)
    charge_mg = charge_on(one.described, one.facts, covered_on)
    size = load_tables().row(
        US_CALIFORNIA, "leak_inspection_interval", on=covered_on, full_charge_mg=charge_mg
    )
    moved = year.moved[one.appliance.pk]
    # With nothing of its own refrigerant, its facility is listed even where none moved.
    for designation, is_charged, mass_mg in [(refrigerant.designation, True, 0), *moved]:
        facilities[facility, designation][is_charged] += mass_mg
    return (
        facility,
        one.registered.name,
        one.registered.serial_number,
        refrigerant.designation,
        pounds(charge_mg),
        size.applies_to,
        pounds(sum(mass_mg for _, is_charged, mass_mg in moved if is_charged)),
        pounds(sum(mass_mg for _, is_charged, mass_mg in moved if not is_charged)),
        sum(fact.kind == FactKind.LEAK_INSPECTION for fact in of_year),
        sum(fact.kind == FactKind.REPAIR for fact in of_year),
        year.visit_counts[one.appliance.pk],
    )
