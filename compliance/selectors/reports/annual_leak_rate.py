"""The annual leak rate report as plain values: what screen, PDF, CSV and XLSX all print.

Its figures are those that the rulebook calculates from the records, whether that happens now or happened when they were
last assessed; so a report as of a date and as known at an instant gives the same figures whenever it is run. What is
told of each appliance, sentence by sentence, is calculated when it is shown, a few hundred appliances at a time.
"""

from dataclasses import dataclass, replace
from functools import cached_property

from django.db.models import QuerySet

from compliance.rulebook.assess import assess
from compliance.rulebook.facts import FactKind
from compliance.rulebook.filings.specs import SECTIONS
from compliance.rulebook.jurisdictions.us_federal.rolling_course import RollingCourse
from compliance.rulebook.masses import format_mass
from compliance.rulebook.results import Assessment, LeakRate, Obligation, RuleVerdict
from compliance.rulebook.rules import US_FEDERAL
from compliance.selectors.facts import rules_for
from compliance.selectors.facts_in_bulk import BATCH, ApplianceFacts, facts_in_bulk
from compliance.selectors.reports.in_force import charge_basis_on, charge_on, refrigerant_on
from compliance.selectors.reports.parameters import Progress, ReportParameters, no_progress
from compliance.selectors.reports.rolling_rates import RollingPlot, rolling_courses_shown, rolling_plots
from compliance.selectors.reports.stored_years import figures_stored, gross_masses
from compliance.selectors.reports.year_figures import (
    ApplianceFigures,
    RateFigures,
    Totals,
    YearFigures,
    clocks_of,
    figures_of,
    rates_of,
)
from compliance.selectors.wording import methods_in_words
from jobs.models import Appliance

#: About fifty pages: layout takes memory by the page, given back after each piece.
APPLIANCES_IN_A_PIECE = 100


@dataclass(frozen=True)
class ApplianceYear:
    """One appliance's year: its figures, and the sentences and rows that they come from.

    ``charge_basis`` says how the full charge was determined, ``methods`` how its leak rates are calculated,
    ``rated_refrigerants`` what was in it at each rate; ``courses`` are its rolling rates from day to day, where half a
    threshold was passed. Where additions for service have no rate, ``unrated`` says why each rule that knows leak rates
    asked for none.
    """

    year: int
    appliance: Appliance
    figures: ApplianceFigures
    charge_basis: str
    methods: str
    assessment: Assessment
    rates: tuple[LeakRate, ...]
    rated_refrigerants: tuple[str, ...]
    obligations: tuple[Obligation, ...]
    courses: tuple[RollingCourse, ...] = ()
    unrated: tuple[RuleVerdict, ...] = ()

    @property
    def plots(self) -> list[RollingPlot]:
        """The plots of its courses."""
        return rolling_plots(self.appliance.name, self.year, self.courses, self.rates)

    @property
    def highest(self) -> RateFigures | None:
        """The year's highest leak rate."""
        return self.figures.highest

    @property
    def why_no_rate(self) -> str:
        """Why no leak rate of the year is on the list, with what was added all the same."""
        added_mg = self.figures.added_mg
        if not added_mg:
            return f"No leak rate was calculated in {self.year}: nothing was added."
        added = f"{format_mass(added_mg)} ({format_mass(added_mg, 'kg')}) was added"
        if self.unrated:
            reasons = " ".join(f"{verdict.citation}: {verdict.because}" for verdict in self.unrated)
            return f"{added} in {self.year}, and no rule asked for a leak rate then. {reasons}"
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
    """The whole report, or a piece of it: the figures are those of the whole, ``ids`` the appliances of the piece."""

    parameters: ReportParameters
    figures: YearFigures
    ids: tuple[int, ...] | None = None

    @property
    def year(self) -> int:
        """The calendar year."""
        return self.parameters.year

    @property
    def title(self) -> str:
        """The report's name with its year."""
        return f"Annual leak rate report {self.year}"

    @property
    def in_short(self) -> tuple[tuple[str, int], ...]:
        """The counts of the whole report, each with its name."""
        figures, year = self.figures, self.year
        return (
            ("Appliances registered", len(figures.appliances)),
            ("Of them under a leak repair rule", figures.covered_count),
            (f"Leak rates calculated in {year}", figures.rate_count),
            (f"Appliances over their threshold in {year}", len(figures.over)),
            (
                "Appliances that leaked 125 % of their full charge or more (chronic leaks)",
                figures.chronic_count,
            ),
        )

    @cached_property
    def appliances(self) -> tuple[ApplianceYear, ...]:
        """The year of each appliance, calculated when it is first asked for."""
        asked = _asked(self.parameters)
        if self.ids is not None:
            asked = asked.filter(pk__in=self.ids)
        together = facts_in_bulk(asked, self.parameters.known_at)
        return tuple(
            _appliance_year(one, self.parameters, self.figures.by_id[one.appliance.pk].gross)
            for one in together
        )

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
        return [row for row in self.appliances if row.figures.is_over]


def annual_report(parameters: ReportParameters, progress: Progress = no_progress) -> AnnualReport:
    """The report of a calendar year: rates of additions from 1 January to 31 December count.

    Source: 40 CFR 82.157(l), 84.106(l) (what must be on record); 82.157(j), 84.106(j) (chronic leaks).
    """
    gross = gross_masses(parameters)
    figures = figures_stored(parameters, gross)
    asked = _asked(parameters)
    ids = list(asked.order_by("pk").values_list("pk", flat=True))
    left = [pk for pk in ids if pk not in figures]
    for start in range(0, len(left), BATCH):
        progress(start, len(left))
        batch = asked.filter(pk__in=left[start : start + BATCH])
        for one in facts_in_bulk(batch, parameters.known_at):
            pk = one.appliance.pk
            figures[pk] = _figures(one, _assess(one, parameters), parameters, gross.get(pk, ()))
    return AnnualReport(parameters, YearFigures(tuple(figures[pk] for pk in ids), len(left)))


def annual_report_pieces(report: AnnualReport, appliances: int = APPLIANCES_IN_A_PIECE) -> list[AnnualReport]:
    """Cut a long report into pieces of at most so many appliances, to be printed one after the other.

    What a piece tells of its appliances is calculated when it is asked for: who wants little memory lets go of a piece
    before the next.
    """
    if len(report.figures.appliances) <= appliances:
        return [report]
    ids = tuple(_asked(report.parameters).values_list("pk", flat=True))
    return [replace(report, ids=ids[start : start + appliances]) for start in range(0, len(ids), appliances)]


def _asked(parameters: ReportParameters) -> QuerySet[Appliance]:
    return parameters.appliances().filter(installed_on__year__lte=parameters.year)


def _assess(one: ApplianceFacts, parameters: ReportParameters) -> Assessment:
    rules = rules_for(one.registered.site)
    return assess(one.described, one.facts, as_of=parameters.as_of, rules=rules, looks_ahead=False)


def _figures(
    one: ApplianceFacts, assessment: Assessment, parameters: ReportParameters, gross: Totals
) -> ApplianceFigures:
    last_on = parameters.last_on
    return figures_of(
        one.appliance.pk,
        assessment,
        year=parameters.year,
        refrigerant=refrigerant_on(one.described, one.facts, last_on).designation,
        full_charge_mg=charge_on(one.described, one.facts, last_on),
        gross=gross,
    )


def _appliance_year(one: ApplianceFacts, parameters: ReportParameters, gross: Totals) -> ApplianceYear:
    year, last_on = parameters.year, parameters.last_on
    described, facts = one.described, one.facts
    assessment = _assess(one, parameters)
    rates = rates_of(assessment, year)
    courses: tuple[RollingCourse, ...] = ()
    if US_FEDERAL in rules_for(one.registered.site):
        courses = rolling_courses_shown(described, facts, rates, year=year, last_on=last_on)
    return ApplianceYear(
        year=year,
        appliance=one.registered,
        figures=_figures(one, assessment, parameters, gross),
        charge_basis=charge_basis_on(one.registered, facts, last_on),
        methods=methods_in_words(described, facts, last_on),
        assessment=assessment,
        rates=rates,
        rated_refrigerants=tuple(refrigerant_on(described, facts, rate.on).designation for rate in rates),
        obligations=clocks_of(assessment, year),
        courses=courses,
        unrated=() if rates else _unrated(one, year),
    )


def _unrated(one: ApplianceFacts, year: int) -> tuple[RuleVerdict, ...]:
    """Why the rules that know leak rates didn't hold at the year's last addition for service, if there was one."""
    serviced = [
        fact.on
        for fact in one.facts
        if fact.kind is FactKind.ADDITION and fact.reason == "service" and fact.on.year == year
    ]
    if not serviced:
        return ()
    then = assess(
        one.described,
        one.facts,
        as_of=max(serviced),
        rules=rules_for(one.registered.site),
        looks_ahead=False,
    )
    if any(applied.rule in SECTIONS for applied in then.applies):
        return ()
    return tuple(verdict for verdict in then.does_not_apply if verdict.rule in SECTIONS)
