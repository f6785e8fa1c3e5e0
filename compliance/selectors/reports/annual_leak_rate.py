"""The annual leak rate report as plain values: what screen, PDF, CSV and XLSX all print.

Calculated from the records by the rulebook, never from the stored projections, so that a
report as of a date and as known at an instant gives the same figures whenever it is run.
"""

from collections import defaultdict
from dataclasses import dataclass, field, replace
from datetime import date

from compliance.rulebook.assess import assess
from compliance.rulebook.filings.specs import SECTIONS
from compliance.rulebook.jurisdictions.us_federal.rolling_course import RollingCourse
from compliance.rulebook.masses import format_mass
from compliance.rulebook.results import Assessment, LeakRate, Obligation, ObligationKind
from compliance.rulebook.rules import US_FEDERAL
from compliance.selectors.facts import rules_for
from compliance.selectors.facts_in_bulk import ApplianceFacts, facts_in_bulk
from compliance.selectors.reports.in_force import charge_basis_on, charge_on, refrigerant_on
from compliance.selectors.reports.parameters import Progress, ReportParameters, no_progress
from compliance.selectors.reports.rolling_rates import RollingPlot, rolling_courses_shown, rolling_plots
from jobs.models import Appliance, Transfer

#: Kept for the record, not owed to anyone by a date that a reader would act on.
KINDS_LEFT_OUT = frozenset({ObligationKind.RECORD_RETENTION})

#: About a hundred pages: layout takes memory by the page, given back after each piece.
APPLIANCES_IN_A_PIECE = 200


@dataclass(frozen=True)
class RefrigerantTotal:
    """The year's gross masses of one refrigerant."""

    designation: str
    added_mg: int
    removed_mg: int


@dataclass(frozen=True)
class ApplianceYear:
    """One appliance's year; ``refrigerant`` and full charge are those in force at its end.

    ``charge_basis`` says how that charge was determined, ``rated_refrigerants`` what was in it at each rate;
    ``courses`` are its rolling rates from day to day, where half a threshold was passed.
    """

    year: int
    appliance: Appliance
    refrigerant: str
    full_charge_mg: int
    charge_basis: str
    assessment: Assessment
    rates: tuple[LeakRate, ...]
    rated_refrigerants: tuple[str, ...]
    obligations: tuple[Obligation, ...]
    gross: tuple[RefrigerantTotal, ...]
    courses: tuple[RollingCourse, ...] = ()

    @property
    def plots(self) -> list[RollingPlot]:
        """The plots of its courses."""
        return rolling_plots(self.appliance.name, self.year, self.courses, self.rates)

    @property
    def gross_added_mg(self) -> int:
        """All that was added, of every refrigerant that it had in the year."""
        return sum(total.added_mg for total in self.gross)

    @property
    def gross_removed_mg(self) -> int:
        """All that was removed, likewise."""
        return sum(total.removed_mg for total in self.gross)

    @property
    def highest(self) -> LeakRate | None:
        """The year's highest leak rate; the first of equals."""
        return max(self.rates, key=lambda row: row.percent, default=None)

    @property
    def is_over(self) -> bool:
        """Whether any rate of the year was over its threshold."""
        return any(row.exceeds for row in self.rates)

    @property
    def is_chronic(self) -> bool:
        """Whether the year's additions reached 125 % of the full charge (40 CFR 82.157(j), 84.106(j))."""
        return any(
            row.kind == ObligationKind.CHRONIC_LEAK_REPORT and row.opened_on.year == self.year
            for row in self.obligations
        )

    @property
    def why_no_rate(self) -> str:
        """Why no leak rate of the year is on the list, with what was added all the same."""
        if not self.gross_added_mg:
            return f"No leak rate was calculated in {self.year}: nothing was added."
        added = f"{format_mass(self.gross_added_mg)} ({format_mass(self.gross_added_mg, 'kg')}) was added"
        if any(applied.rule in SECTIONS for applied in self.assessment.applies):
            return (
                f"No leak rate was calculated in {self.year}: {added}, none of it in place of what leaked "
                "(installation, retrofit, change of season)."
            )
        return f"{added} in {self.year}. {self.rules} asks for no leak rate."

    @property
    def rules(self) -> str:
        """The rules that apply, by their citations."""
        return "; ".join(dict.fromkeys(applied.citation for applied in self.assessment.applies))


@dataclass(frozen=True)
class AnnualReport:
    """The whole report."""

    parameters: ReportParameters
    appliances: tuple[ApplianceYear, ...]
    totals: tuple[RefrigerantTotal, ...] = field(default=())

    @property
    def year(self) -> int:
        """The calendar year."""
        return self.parameters.year

    @property
    def title(self) -> str:
        """The report's name with its year."""
        return f"Annual leak rate report {self.year}"

    @property
    def covered(self) -> list[ApplianceYear]:
        """Appliances to which a rule with a leak rate applies."""
        return [row for row in self.appliances if row.assessment.applies]

    @property
    def not_covered(self) -> list[ApplianceYear]:
        """Appliances under no rule, listed with the reason."""
        return [row for row in self.appliances if not row.assessment.applies]

    @property
    def over(self) -> list[ApplianceYear]:
        """Appliances with a rate over the threshold in the year."""
        return [row for row in self.appliances if row.is_over]

    @property
    def chronic(self) -> list[ApplianceYear]:
        """Appliances to which 125 % of their full charge or more was added in the year."""
        return [row for row in self.appliances if row.is_chronic]

    @property
    def addition_count(self) -> int:
        """How many leak rates were calculated for the year."""
        return sum(len(row.rates) for row in self.appliances)


def annual_report(parameters: ReportParameters, progress: Progress = no_progress) -> AnnualReport:
    """Calculate the report of a calendar year: rates of additions from 1 January to 31 December count.

    Source: 40 CFR 82.157(l), 84.106(l) (what must be on record); 82.157(j), 84.106(j) (chronic leaks).
    """
    gross = _gross_masses(parameters)
    appliances = parameters.appliances().filter(installed_on__year__lte=parameters.year)
    total = appliances.count()
    rows = []
    for done, one in enumerate(facts_in_bulk(appliances, parameters.known_at)):
        progress(done, total)
        rows.append(_appliance_year(one, parameters, gross[one.appliance.pk]))
    return AnnualReport(parameters=parameters, appliances=tuple(rows), totals=_totals(rows))


def annual_report_pieces(report: AnnualReport, appliances: int = APPLIANCES_IN_A_PIECE) -> list[AnnualReport]:
    """Cut a long report into pieces of at most so many appliances, to be printed one after the other."""
    starts = range(0, len(report.appliances), appliances) or [0]
    return [replace(report, appliances=report.appliances[start : start + appliances]) for start in starts]


def _appliance_year(
    one: ApplianceFacts, parameters: ReportParameters, gross: tuple[RefrigerantTotal, ...]
) -> ApplianceYear:
    year, as_of = parameters.year, parameters.as_of
    described, facts = one.described, one.facts
    rules = rules_for(one.registered.site)
    assessment = assess(described, facts, as_of=as_of, rules=rules)
    last_day = min(as_of, date(year, 12, 31))
    rates = tuple(row for row in assessment.leak_rates if row.on.year == year)
    obligations = tuple(
        row for row in assessment.obligations if row.kind not in KINDS_LEFT_OUT and _touches(row, year)
    )
    courses: tuple[RollingCourse, ...] = ()
    if US_FEDERAL in rules:
        courses = rolling_courses_shown(described, facts, rates, year=year, last_on=last_day)
    return ApplianceYear(
        year=year,
        appliance=one.appliance,
        refrigerant=refrigerant_on(described, facts, last_day).designation,
        full_charge_mg=charge_on(described, facts, last_day),
        charge_basis=charge_basis_on(one.registered, facts, last_day),
        assessment=assessment,
        rates=rates,
        rated_refrigerants=tuple(refrigerant_on(described, facts, rate.on).designation for rate in rates),
        obligations=obligations,
        gross=gross,
        courses=courses,
    )


def _touches(row: Obligation, year: int) -> bool:
    """Whether a clock opened, fell due or was met in the year."""
    days = (row.opened_on, row.due_on, row.met_on)
    return any(day is not None and day.year == year for day in days)


def _gross_masses(parameters: ReportParameters) -> defaultdict[int, tuple[RefrigerantTotal, ...]]:
    """Gross masses added to and removed from each appliance in the year, reversals counted back."""
    transfers = Transfer.objects.filter(
        happened_on__year=parameters.year,
        event__isnull=False,
        event__filed_at__lte=parameters.known_at,
        event__appliance__in=parameters.appliances().order_by().values("pk"),
    )
    sums: defaultdict[int, dict[str, list[int]]] = defaultdict(dict)
    for appliance_id, designation, to_id, mass_mg, is_reversal in transfers.values_list(
        "event__appliance_id", "refrigerant", "to_holder__appliance_id", "mass_mg", "reverses"
    ):
        # A reversal runs the other way: what it gives back was never added, or never removed.
        sign = -1 if is_reversal else 1
        is_addition = (to_id == appliance_id) != bool(is_reversal)
        masses = sums[appliance_id].setdefault(designation, [0, 0])
        masses[0 if is_addition else 1] += sign * mass_mg
    return defaultdict(tuple, {pk: _as_totals(masses) for pk, masses in sums.items()})


def _totals(rows: list[ApplianceYear]) -> tuple[RefrigerantTotal, ...]:
    sums: dict[str, list[int]] = {}
    for total in (total for row in rows for total in row.gross):
        masses = sums.setdefault(total.designation, [0, 0])
        masses[0] += total.added_mg
        masses[1] += total.removed_mg
    return _as_totals(sums)


def _as_totals(sums: dict[str, list[int]]) -> tuple[RefrigerantTotal, ...]:
    """Masses added and removed as totals, without a refrigerant of which nothing moved in the end."""
    return tuple(
        RefrigerantTotal(designation, added_mg, removed_mg)
        for designation, (added_mg, removed_mg) in sorted(sums.items())
        if added_mg or removed_mg
    )
