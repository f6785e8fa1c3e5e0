"""When reports that were sent, and leak detection, may be filed (82.157 and 84.106 (g)(4), (j); 17 CCR 95388)."""

from collections.abc import Iterator

from compliance.rulebook.facts import FactKind
from compliance.rulebook.filings.details import Details, Objection
from compliance.rulebook.filings.repair_conditions import DAY
from compliance.rulebook.filings.report_specs import (
    ANNUAL_REPORT_FILED,
    AUTOMATIC_LEAK_DETECTION,
    CHRONIC_LEAK_REPORT_FILED,
    LEAK_DETECTION_ALARM,
    LEAK_DETECTION_CALIBRATION,
)
from compliance.rulebook.filings.situation import Situation
from compliance.rulebook.filings.specs import FilingSpec
from compliance.rulebook.masses import format_mass
from compliance.rulebook.results import Obligation, ObligationKind
from compliance.rulebook.tables import Row


def chronic_state(case: Situation) -> Iterator[Objection]:
    """A chronic leak report is sent where one is owed."""
    if not case.running(ObligationKind.CHRONIC_LEAK_REPORT):
        expected = f"Expected a chronic leak report that was owed; none was on {case.on}."
        yield Objection(DAY, case.on, expected, case.cited(CHRONIC_LEAK_REPORT_FILED.paragraph))


def chronic_evidence(case: Situation, details: Details) -> Iterator[Objection]:
    """It is about a year for which one is owed."""
    owed = case.running(ObligationKind.CHRONIC_LEAK_REPORT)
    yield from _year(
        case,
        details,
        [row.opened_on.year for row in owed],
        CHRONIC_LEAK_REPORT_FILED.paragraph.cited(case.applying),
    )


def annual_state(case: Situation) -> Iterator[Objection]:
    """An annual report is sent where one is owed."""
    if not case.running(ObligationKind.ANNUAL_REPORT):
        expected = f"Expected an annual report that was owed; none was on {case.on}."
        yield Objection(DAY, case.on, expected, case.cited(ANNUAL_REPORT_FILED.paragraph))


def annual_evidence(case: Situation, details: Details) -> Iterator[Objection]:
    """It is about a year for which one is owed: that before the one in which it opened."""
    owed = case.running(ObligationKind.ANNUAL_REPORT)
    yield from _year(
        case, details, [_year_before(row) for row in owed], ANNUAL_REPORT_FILED.paragraph.cited()
    )


def reported_years(case: Situation) -> list[int]:
    """The calendar years whose chronic or annual report is owed, oldest first."""
    chronic = [row.opened_on.year for row in case.running(ObligationKind.CHRONIC_LEAK_REPORT)]
    return sorted({*chronic, *(_year_before(row) for row in case.running(ObligationKind.ANNUAL_REPORT))})


def detection_state(case: Situation) -> Iterator[Objection]:
    """Detection is installed once in an appliance that is in use."""
    citation = case.cited(AUTOMATIC_LEAK_DETECTION.paragraph)
    if case.timeline.final_state.is_retired:
        yield Objection(
            DAY,
            case.on,
            f"Expected an appliance in use: it was retired on {case.timeline.retired_on}.",
            citation,
        )
    elif installed := case.before(FactKind.AUTOMATIC_LEAK_DETECTION):
        expected = (
            f"Expected an appliance without it: it was installed on {installed[0].on}. File its calibration."
        )
        yield Objection(DAY, case.on, expected, citation)


def detection_evidence(case: Situation, details: Details) -> Iterator[Objection]:
    """It senses and alarms as early as the paragraph asks."""
    if details.text("detection_type") == "direct":
        for name, key in (("detects_ppm", "leak_detection_detects"), ("alarms_ppm", "leak_detection_alarms")):
            row, given = case.row(key), details.number(name)
            if row is not None and given is not None and given > row.number:
                yield Objection(name, str(given), f"Expected {row.in_words} or less.", row.citation)
        return
    loss_mg, bound = details.mass_mg("alarms_at_loss"), _largest_loss_mg(case)
    if loss_mg is not None and bound is not None and loss_mg > bound[0]:
        expected = f"Expected {format_mass(bound[0])} or less: {bound[1]}."
        yield Objection("alarms_at_loss", format_mass(loss_mg), expected, bound[2].citation)


def alarm_state(case: Situation) -> Iterator[Objection]:
    """What alarms is installed."""
    yield from _installed(case, LEAK_DETECTION_ALARM)


def calibration_state(case: Situation) -> Iterator[Objection]:
    """What is calibrated is installed."""
    yield from _installed(case, LEAK_DETECTION_CALIBRATION)


def _installed(case: Situation, spec: FilingSpec) -> Iterator[Objection]:
    if not case.before(FactKind.AUTOMATIC_LEAK_DETECTION):
        expected = (
            f"Expected automatic leak detection on record; none was installed by {case.on}. File it first."
        )
        yield Objection(DAY, case.on, expected, case.cited(spec.paragraph))


def _largest_loss_mg(case: Situation) -> tuple[int, str, Row] | None:
    """The loss at which an indirect system alarms at the latest: a mass or a share of the charge, whichever is less."""
    mass, share = case.row("leak_detection_loss"), case.row("leak_detection_loss_share")
    if mass is None or share is None:
        return None
    charge_mg = case.timeline.final_state.full_charge_mg
    by_share_mg = int(charge_mg * share.number / 100)
    least_mg = min(int(mass.exact_mg) + 1, by_share_mg + 1)
    return least_mg, f"{mass.in_words} or {share.in_words} of the full charge, whichever is less", mass


def _year_before(row: Obligation) -> int:
    return row.opened_on.year - 1


def _year(case: Situation, details: Details, years: list[int], citation: str) -> Iterator[Objection]:
    year = details.year("year")
    if year is not None and years and year not in years:
        listed = " or ".join(str(one) for one in sorted(set(years)))
        yield Objection(
            "year", year, f"Expected {listed}, for which a report was owed on {case.on}.", citation
        )
