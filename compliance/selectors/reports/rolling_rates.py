"""The rolling rate of an appliance over a year: as a chart, in words, and as steps of which the tables are made."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from compliance.rulebook.facts import Appliance, Fact, FactKind, LeakRateMethod
from compliance.rulebook.jurisdictions.us_federal.rolling_course import RollingCourse, rolling_courses
from compliance.rulebook.masses import format_mass, shown_in_unit
from compliance.rulebook.results import LeakRate
from compliance.selectors.wording import rule_in_words
from portal.web.charts import Band, Chart, DateAxis, Line, Panel, Points, Rule

#: Shown where a rate is over the threshold divided by this.
SHOWN_OVER_HALF = 2
#: An annualized rate of a few days can be so high that the line under it would lie flat: beyond so many times the
#: highest of line and threshold it is told in words alone.
DRAWN_MOST_TIMES = 3
CALCULATED = "Annualized leak rate"


@dataclass(frozen=True)
class RollingPlot:
    """One appliance's rolling rate under one rule over a year, and the rates that were calculated in it.

    ``rates`` are those that the annualizing method gave, where the facility uses it: they don't lie on the line.
    """

    name: str
    year: int
    course: RollingCourse
    rates: tuple[LeakRate, ...]

    @property
    def chart(self) -> Chart:
        """The line of steps with the threshold, the additions, and the days on which the count began anew."""
        course = self.course
        days = [*(step.on.toordinal() for step in course.steps), course.ends_on.toordinal()]
        values = [float(step.percent_rounded) for step in course.steps]
        return Chart(
            title=f"Rolling leak rate of {self.name} in {self.year}",
            description=self.in_words,
            axis=DateAxis(),
            ends=(date(self.year, 1, 1).toordinal(), date(self.year, 12, 31).toordinal()),
            panels=[
                Panel(
                    title=f"{self.name}: added in 365 days, % of full charge ({self.section})",
                    lines=[Line(days, [*values, values[-1]], "Rolling rate", is_stepped=True)],
                    points=list(self._points()),
                    rules=[Rule(float(course.threshold_pct), f"{self.threshold} %", name="Threshold")],
                    has_zero=True,
                    share=0.7,
                )
            ],
            bands=[
                Band(on.toordinal(), on.toordinal(), "Count begins anew", tone="calm")
                for on in course.began_anew_on
            ],
        )

    @property
    def section(self) -> str:
        """The section of the law that sets the threshold."""
        return self.course.citation.partition("(")[0]

    @property
    def threshold(self) -> str:
        """The threshold without needless noughts."""
        return f"{self.course.threshold_pct.normalize():f}"

    @property
    def in_words(self) -> str:
        """What the chart shows, step by step."""
        course = self.course
        sentences = [
            f"{rule_in_words(course.rule)}, threshold {self.threshold} % ({course.citation}).",
            f"Rolling rate: {'; '.join(self._steps_in_words())}.",
        ]
        if self.rates:
            rates = "; ".join(self._rates_in_words())
            sentences.append(f"{CALCULATED}: {rates}.")
        return " ".join(sentences)

    def _steps_in_words(self) -> Iterator[str]:
        for place, step in enumerate(self.course.steps):
            words = f"{step.percent_rounded} % {'on' if place == 0 else 'from'} {step.on}"
            if step.added_mg is not None:
                words += f", {format_mass(step.added_mg)} added"
            yield f"{words} ({shown_in_unit(step.counted_mg, 'lb')} of {format_mass(step.full_charge_mg)})"

    def _rates_in_words(self) -> Iterator[str]:
        for rate in self.rates:
            beyond = "" if self._is_drawn(rate) else " (beyond the plot)"
            yield f"{rate.percent_rounded} % on {rate.on}{beyond}"

    def _is_drawn(self, rate: LeakRate) -> bool:
        highest = max(self.course.highest.percent_rounded, self.course.threshold_pct)
        return rate.percent_rounded <= highest * DRAWN_MOST_TIMES

    def _points(self) -> Iterator[Points]:
        additions = [(step.on, step.percent_rounded, step.is_over) for step in self.course.additions]
        rates = [(rate.on, rate.percent_rounded, rate.exceeds) for rate in self.rates if self._is_drawn(rate)]
        yield from _dots("Addition", additions, ("main", "danger"))
        yield from _dots(CALCULATED, rates, ("open", "open-danger"))


def _dots(name: str, rows: Sequence[tuple[date, Decimal, bool]], tones: tuple[str, str]) -> Iterator[Points]:
    """Values by day, those that are over the threshold in the second tone."""
    for is_over, words in ((False, name), (True, f"{name}, over")):
        shown = [(on, value) for on, value, over in rows if over is is_over]
        if shown:
            days = [on.toordinal() for on, _ in shown]
            yield Points(days, [float(value) for _, value in shown], words, tones[is_over])


def rolling_courses_shown(
    described: Appliance, facts: Sequence[Fact], rates: Sequence[LeakRate], *, year: int, last_on: date
) -> tuple[RollingCourse, ...]:
    """The rolling rate of a year under each federal rule in which it, or a calculated rate, passed half the threshold.

    Args:
        described: the appliance before its first fact.
        facts: its facts.
        rates: those that were calculated in the year.
        year: the calendar year.
        last_on: its last day that is asked about.
    """
    earliest = date(year - 1, 1, 1)
    if not any(fact.kind is FactKind.ADDITION and earliest <= fact.on <= last_on for fact in facts):
        return ()
    courses = rolling_courses(described, facts, from_on=date(year, 1, 1), to_on=last_on)
    return tuple(course for course in courses if _is_shown(course, rates))


def _is_shown(course: RollingCourse, rates: Sequence[LeakRate]) -> bool:
    calculated = [rate.percent_rounded for rate in rates if rate.rule == course.rule]
    return max([course.highest.percent_rounded, *calculated]) * SHOWN_OVER_HALF > course.threshold_pct


def rolling_plots(
    name: str, year: int, courses: Sequence[RollingCourse], rates: Sequence[LeakRate]
) -> list[RollingPlot]:
    """The plots of an appliance's courses, with the rates that the annualizing method gave under the same rule."""
    annualized = [rate for rate in rates if rate.method is LeakRateMethod.ANNUALIZING]
    return [
        RollingPlot(name, year, course, tuple(rate for rate in annualized if rate.rule == course.rule))
        for course in courses
    ]
