"""The sections of a paper that the records fill: the facility, the rate, the year's loss, leaks, the work on them."""

import datetime
from collections.abc import Iterator, Mapping
from fractions import Fraction
from typing import Any

from compliance.rulebook.filings.situation import Situation
from compliance.rulebook.jurisdictions.us_federal.rates import rounded_pct
from compliance.rulebook.masses import format_mass, shown_in_unit
from compliance.rulebook.results import LeakRate
from compliance.selectors.papers.parts import PaperLine, PaperSection
from compliance.selectors.reports.document import Column, ColumnKind, Row, Table
from compliance.selectors.reports.masses import pounds
from compliance.selectors.visit_rows import with_rows
from compliance.selectors.visit_words import what_was_done
from compliance.selectors.wording import rule_in_words
from jobs.models import Appliance, CaseFiling
from jobs.selectors.events import current_events

Case = Mapping[str, Any]

LEAK_COLUMNS = (
    Column("Found on", ColumnKind.DATE),
    Column("Leak", width=10),
    Column("Part", width=30),
    Column("Where", width=30),
)
WORK_COLUMNS = (Column("Date", ColumnKind.DATE), Column("Record"), Column("What was done", width=70))
ADDITION_COLUMNS = (
    Column("Date", ColumnKind.DATE),
    Column("Record"),
    Column("Added, net (lb)", ColumnKind.MASS),
)

NONE_EXCEEDED = "No rate over the threshold is on record."


def facility_section(case: Case, citation: str) -> PaperSection:
    """Whose appliance it is, where it stands, and what it is."""
    mass_mg = case["full_charge_mg"]
    number = f", serial no. {case['serial_number']}" if case["serial_number"] else ""
    return PaperSection(
        "Facility and appliance",
        citation,
        (
            PaperLine("Owner or operator", case["owner_or_operator"]),
            PaperLine("Facility", case["facility"]),
            PaperLine("Address of the facility", case["facility_address"]),
            PaperLine("Appliance", f"{case['appliance']}{number}"),
            PaperLine("Where it stands", case["appliance_location"], hint="No place is on record for it."),
            PaperLine("Type of appliance", case["appliance_type"]),
            PaperLine("Refrigerant", case["refrigerant"]),
            PaperLine("Full charge", f"{format_mass(mass_mg)} ({format_mass(mass_mg, 'kg')})"),
            PaperLine("How the full charge was determined", case["full_charge_method"]),
            PaperLine("How the leak rate is calculated", case["leak_rate_method"]),
        ),
    )


def rate_section(case: Case, citation: str, further: tuple[PaperLine, ...] = ()) -> PaperSection:
    """The rate that was exceeded and when, and what else the paragraph asks of it."""
    rate = case["exceeded"] or {}
    threshold = (
        f"{rate['threshold_pct']} % ({rule_in_words(rate['rule'])})" if rate.get("threshold_pct") else ""
    )
    lines = (
        PaperLine("Leak rate exceeded on", rate.get("on", ""), hint=NONE_EXCEEDED),
        PaperLine("Leak rate", f"{rate['leak_rate_pct']} %" if rate else "", hint=NONE_EXCEEDED),
        PaperLine("Threshold", threshold, hint=NONE_EXCEEDED),
    )
    return PaperSection("Leak rate", citation, (*lines, *further))


def loss_section(
    situation: Situation, rates: list[LeakRate], year: int, case: Case, citation: str
) -> PaperSection:
    """What leaked in a calendar year, in percent of the full charge at its end, and each addition of it."""
    total_mg = sum(rate.net_mg for rate in rates)
    charge_mg = situation.timeline.state_on(datetime.date(year, 12, 31)).full_charge_mg
    percent = rounded_pct(Fraction(total_mg * 100, charge_mg))
    loss = f"{percent} %: {shown_in_unit(total_mg, 'lb')} lb / {shown_in_unit(charge_mg, 'lb')} lb × 100"
    rows = tuple((rate.on, rate.event or "", pounds(rate.net_mg)) for rate in rates)
    totals: Row = ("Total", "", pounds(total_mg))
    return PaperSection(
        f"Loss in {year}",
        citation,
        (
            PaperLine("Calendar year", str(year)),
            PaperLine(
                "Lost in the year, % of the full charge",
                loss if rates else "",
                hint=f"No addition of {year} is on record.",
            ),
            PaperLine(
                "Last successful follow-up verification test",
                case["last_successful_follow_up_on"] or "",
                hint="None is on record.",
                is_required=False,
            ),
        ),
        (
            Table(
                "Additions",
                ADDITION_COLUMNS,
                rows,
                totals=totals if rows else None,
                empty=f"Nothing was added in {year}.",
            ),
        ),
    )


def leaks_section(
    appliance: Appliance,
    case: Case,
    citation: str,
    period: tuple[datetime.date, datetime.date],
    known_at: datetime.datetime,
) -> PaperSection:
    """Where leaks were found, and what was done to find and repair them from one day to another."""
    found = tuple(
        (datetime.date.fromisoformat(row["on"]), f"Leak {row['number']}", row["part"], row["location"])
        for row in case["leak_locations"]
    )
    work = tuple(_work(appliance, period, known_at))
    return PaperSection(
        "Leaks and the work on them",
        citation,
        tables=(
            Table("Leaks found", LEAK_COLUMNS, found, empty="No leak is on record."),
            Table("Work on the appliance", WORK_COLUMNS, work, empty="No visit is on record."),
        ),
    )


def notification_lines(
    appliance: Appliance, case: Case, known_at: datetime.datetime, filed: CaseFiling | None
) -> tuple[PaperLine, ...]:
    """When the agency was told, which is the day of the request, and when the owner or operator was.

    The paragraph asks for the date of notification and doesn't say whose; so both stand there.
    """
    exceeded = case["exceeded"]
    told = None
    if exceeded:
        visits = current_events(appliance, known_at).filter(happened_on__gte=exceeded["on"])
        told = visits.exclude(owner_told_on=None).values_list("owner_told_on", flat=True).first()
    return (
        PaperLine(
            "Owner or operator told of it on",
            "" if told is None else str(told),
            hint="No visit on record says when.",
            is_required=False,
        ),
        PaperLine(
            "Date of notification",
            str(filed.happened_on) if filed else "",
            hint="The day on which this request is sent.",
        ),
    )


def _work(
    appliance: Appliance, period: tuple[datetime.date, datetime.date], known_at: datetime.datetime
) -> Iterator[Row]:
    visits = with_rows(current_events(appliance, known_at).filter(happened_on__range=period))
    for visit in visits:
        yield (visit.happened_on, visit.reference, " ".join(what_was_done(visit)))
