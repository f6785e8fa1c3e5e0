"""What is filed about demo appliances beside their visits, by the names of their stories. No database here."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date


@dataclass(frozen=True)
class DaysAgo:
    """A day told from today; below zero it is still to come."""

    days: int


@dataclass(frozen=True)
class NewestVisit:
    """The appliance's newest visit, or the one before it, by its place from the end."""

    place: int = 1


@dataclass(frozen=True)
class DemoFiling:
    """One filing, told in days before today; ``details`` as its kind asks, with days and visits told from today."""

    days_ago: int
    kind: str
    details: Mapping[str, object] = field(default_factory=dict)
    note: str = ""
    document: str = ""


_AGENCY = "United States Environmental Protection Agency"
_SENT = {"sent_by": "Agency’s electronic reporting system", "receipt_number": "R-40917"}

FILINGS: Mapping[str, tuple[DemoFiling, ...]] = {
    "waiting_for_parts": (
        DemoFiling(
            9,
            "extension",
            {
                "obligation": "repair",
                "basis": "parts",
                "parts_needed": "Shaft seal kit and matching bearing",
                "supplier": "Northern Lakes Compressor Works",
                "ordered_on": DaysAgo(14),
                "delivery_expected_on": DaysAgo(-26),
                "reasons": "The compressor is out of production; the seal is turned to order and quoted at six weeks.",
                "completion_estimate": DaysAgo(-40),
                **_SENT,
            },
            document="quote-shaft-seal.txt",
        ),
        DemoFiling(
            3,
            "agency_answer",
            {"answer": "granted", "agency": _AGENCY},
            note="By e-mail; the seal is on its way.",
        ),
    ),
    "parts_of_the_state": (
        DemoFiling(
            12,
            "extension",
            {
                "obligation": "repair",
                "basis": "california_parts",
                "parts_sought": "Distributor for case 4; Northern Lakes Compressor Works and two wholesalers",
                "available_on": DaysAgo(-11),
                "kept_at": "Machine room, blue binder",
            },
        ),
    ),
    "shutdown": (
        DemoFiling(
            40,
            "industrial_process_shutdown_required",
            {
                "reasons": "The leaking evaporator stands in the process loop; the line is drained for the repair.",
                "shutdown_planned_on": DaysAgo(-20),
            },
        ),
    ),
    "mothballed": (
        DemoFiling(
            29,
            "mothballed",
            {
                "extent": "whole",
                "evacuation_visit": NewestVisit(),
                "pressure_reached": "0",
                "pressure_unit": "psig",
                "shut_down": "Disconnect locked and tagged until the season begins.",
            },
        ),
    ),
    "plan": (
        DemoFiling(
            70,
            "retrofit_or_retirement_elected",
            {"intention": "retire", "reasons": "The rack has leaked twice in two years."},
        ),
        DemoFiling(
            55,
            "retrofit_or_retirement_plan",
            {
                "intention": "retire",
                "refrigerant_disposition": "Recovered into our cylinders and sent to a certified reclaimer.",
                "appliance_disposition": "Dismantled; steel and copper go to the scrap dealer.",
                "schedule": "New rack ordered within a month, set in autumn, old rack emptied the week after.",
                "completion_on": DaysAgo(-240),
                "kept_at": "Engine room, binder by the door",
            },
        ),
    ),
    "relief_asked": (
        DemoFiling(
            118,
            "retrofit_or_retirement_plan",
            {
                "intention": "retire",
                "refrigerant_disposition": "Recovered and sent to a certified reclaimer.",
                "appliance_disposition": "Dismantled for scrap.",
                "schedule": "Replacement quoted in spring, work in autumn.",
                "completion_on": DaysAgo(-180),
                "kept_at": "Kitchen office",
            },
        ),
        DemoFiling(
            21,
            "relief_requested",
            {
                "shown_by": "The leaking valve was replaced; the last addition gives a rate well under the threshold.",
                "leaks_will_be_repaired": True,
                "repairs_done_by": DaysAgo(-120),
                **_SENT,
            },
        ),
    ),
    "purged": (
        DemoFiling(
            20,
            "purged_and_destroyed",
            {
                "addition_visit": NewestVisit(),
                "destroyed": {"value": "3", "unit": "lb", "mg": 1_360_777},
                "purged_from": DaysAgo(300),
                "purged_until": DaysAgo(151),
                "purge_periods": "Two to five minutes a day, as the logger keeps them.",
                "flow_rate": "0.3 standard cubic feet a minute",
                "concentration": "R-123, 72 % by volume on average",
                "how_determined": "Flow times concentration, added up each minute; the logger’s files are kept.",
                "monitored": "Each minute while the purge unit runs",
                "control_device": "Thermal oxidizer behind the purge unit’s vent",
                "destruction_efficiency_pct": "99.1",
                "purging": "Low-pressure chiller; its purge unit vents through the oxidizer alone.",
                "contact": "Building services, basement office",
                "first_used_on": DaysAgo(20),
                "notice": "due",
            },
        ),
    ),
    "relief_granted": (
        DemoFiling(
            208,
            "retrofit_or_retirement_plan",
            {
                "intention": "retire",
                "refrigerant_disposition": "Recovered and sent to a certified reclaimer.",
                "appliance_disposition": "Dismantled for scrap.",
                "schedule": "New rack quoted in spring, set after the term.",
                "completion_on": DaysAgo(-90),
                "kept_at": "Facilities office",
            },
        ),
        DemoFiling(
            110,
            "relief_requested",
            {
                "shown_by": "The leak was found and repaired; the last addition gives a rate well under the threshold.",
                "leaks_will_be_repaired": True,
                "repairs_done_by": DaysAgo(60),
                **_SENT,
            },
        ),
        DemoFiling(88, "agency_answer", {"answer": "granted", "agency": _AGENCY}),
    ),
    "more_time_for_plan": (
        DemoFiling(
            190,
            "retrofit_or_retirement_plan",
            {
                "intention": "retire",
                "refrigerant_disposition": "Recovered into our cylinders and sent to a certified reclaimer.",
                "appliance_disposition": "Dismantled for scrap.",
                "schedule": "New cooler built to order, set between two seasons.",
                "completion_on": DaysAgo(-170),
                "kept_at": "Process hall, red binder",
            },
        ),
        DemoFiling(
            130,
            "plan_extension",
            {
                "basis": "custom_built",
                "supplier": "Northern Lakes Compressor Works",
                "quoted_weeks": "48",
                "delivery_expected_on": DaysAgo(-210),
                "until": DaysAgo(-320),
                "reasons": "The cooler is built to order, and its delivery is quoted at 48 weeks.",
                "plan_to_finish": "Set and charged within the days after its delivery; the old one is emptied first.",
                **_SENT,
            },
        ),
        DemoFiling(101, "agency_answer", {"answer": "granted", "agency": _AGENCY}),
    ),
    "seasonal": (
        DemoFiling(
            225,
            "seasonal_variance",
            {
                "removal_visit": NewestVisit(2),
                "addition_visit": NewestVisit(1),
                "statement": "We use the seasonal variance for this heat pump: its winter charge is smaller.",
            },
        ),
        DemoFiling(
            45,
            "seasonal_variance",
            {
                "removal_visit": NewestVisit(1),
                "statement": "We use the seasonal variance for this heat pump: its winter charge is smaller.",
            },
        ),
    ),
    "watched": (
        DemoFiling(
            400,
            "automatic_leak_detection",
            {
                "detection_type": "indirect",
                "location": "Engine room; reads the receiver’s level and the suction pressures.",
                "alarms_at_loss": {"value": "40", "unit": "lb", "mg": 18_143_695},
                "watches_all": True,
            },
        ),
        DemoFiling(
            61,
            "leak_detection_alarm",
            {
                "location": "Receiver level, engine room",
                "reading": "45 lb below the full charge",
                "followed_by": "Leak found and repaired; see the visits of the days after.",
            },
        ),
        DemoFiling(
            41,
            "leak_detection_calibration",
            {
                "done_by": "Ingrid Falkenrath",
                "result": "Level sensor compared with the sight glass, alarm set off on purpose: both within limits.",
            },
        ),
    ),
}

#: Some days before the report of the year before is due in California (17 CCR 95388).
REPORTED_ON = (2, 20)
#: No older year is owed by a firm whose books began three years ago.
REPORTED_YEARS = 3


def annual_reports(today: date) -> Iterator[DemoFiling]:
    """The annual reports that sites in California have sent: those of the past years, each in time."""
    for year in range(today.year - REPORTED_YEARS, today.year):
        sent_on = date(year + 1, *REPORTED_ON)
        if sent_on <= today:
            details = {
                "year": year,
                "sent_by": "The state’s reporting system",
                "receipt_number": f"CA-{year}-0583",
            }
            yield DemoFiling((today - sent_on).days, "annual_report_filed", details)
