"""Files in few words what a case needs beside visits; each kind with evidence that is complete."""

from compliance.rulebook.filings.specs import FilingKind
from compliance.services.case_filings import FilingSubmission, case_filing_amend, case_filing_file
from jobs.models import Appliance, CaseFiling
from portal.accounts.models import User
from tests.compliance.firm import day, file, noon

SENT = {"signed_by": "R. Alder, plant director", "sent_by": "Electronic reporting system"}

COMPLETE: dict[str, dict[str, object]] = {
    "extension": {
        "obligation": "repair",
        "basis": "parts",
        "parts_needed": "Shaft seal kit",
        "supplier": "Quarry Road Supply",
        "delivery_expected_on": "2026-04-20",
        "reasons": "The seal is made to order.",
        "completion_estimate": "2026-05-10",
        **SENT,
    },
    "industrial_process_shutdown_required": {
        "decided_by": "R. Alder, plant director",
        "reasons": "The coil stands inside the dryer, which runs until the batch is done.",
    },
    "mothballed": {
        "extent": "whole",
        "pressure_reached": "0",
        "pressure_unit": "psig",
        "shut_down": "Disconnect locked and tagged.",
    },
    "returned_to_service": {},
    "seasonal_variance": {
        "statement": "The seasonal variance is used for this appliance.",
        "signed_by": "R. Alder",
    },
    "purged_and_destroyed": {
        "destroyed": {"value": "5", "unit": "lb", "mg": 2267962},
        "purged_from": "2026-01-05",
        "purged_until": "2026-02-27",
        "purge_periods": "Daily from 06:00 to 06:20, as logged.",
        "flow_rate": "0.2 scfm",
        "concentration": "80 % by volume",
        "how_determined": "Flow times concentration, each minute; the logger's file is kept.",
        "monitored": "Each minute",
        "control_device": "Thermal oxidizer on the purge vent",
        "destruction_efficiency_pct": "98",
        "purging": "Low-pressure chiller with a purge unit on the condenser",
        "contact": "R. Alder, 12 Millrace Road, 555-0100",
        "first_used_on": "2026-03-02",
        "notice": "due",
        "signed_by": "R. Alder, plant director",
    },
    "retrofit_or_retirement_elected": {"intention": "retire", "decided_by": "R. Alder, plant director"},
    "retrofit_or_retirement_plan": {
        "intention": "retire",
        "refrigerant_disposition": "Reclaimed by a certified reclaimer.",
        "appliance_disposition": "Cut up and recycled.",
        "schedule": "Order in April, replace in October.",
        "completion_on": "2026-10-31",
        "signed_by": "R. Alder, plant director",
        "kept_at": "Machine room, red binder",
    },
    "relief_requested": {
        "shown_by": "The addition of 2026-06-01 gives 1 %.",
        "leaks_will_be_repaired": True,
        "repairs_done_by": "2026-12-01",
        **SENT,
    },
    "plan_extension": {
        "basis": "other_regulation",
        "regulation": "State boiler code",
        "until": "2027-09-01",
        "reasons": "The inspection has to come first.",
        "plan_to_finish": "Inspection in spring, replacement in summer.",
        **SENT,
    },
    "agency_answer": {"answer": "granted", "agency": "The agency’s regional office"},
    "chronic_leak_report_filed": {
        "year": 2026,
        "cause": "Corroded coil",
        "repair_actions": "Coil replaced, tested twice.",
        "has_plan": "no",
        **SENT,
    },
    "annual_report_filed": {"year": 2025, "sent_by": "The state’s reporting site"},
    "automatic_leak_detection": {
        "detection_type": "indirect",
        "location": "Machine room, reads the receiver’s level",
        "alarms_at_loss": {"value": "2", "unit": "lb", "mg": 907185},
        "watches_all": True,
    },
    "leak_detection_alarm": {"location": "Receiver, machine room"},
    "leak_detection_calibration": {"done_by": "T. Okafor", "result": "Alarm tested, within limits."},
}

_AT_SITE = {"kept_at": "Machine room, blue binder"}
_STOPS = {"shutdown_reasons": "The coil stands inside the dryer."}
# What each of California's grounds asks for, in place of the request to the agency.
CALIFORNIAN: dict[str, dict[str, object]] = {
    "california_parts": {"parts_sought": "Shaft seal kit; Quarry Road Supply", **_AT_SITE},
    "california_technician": {"technicians_asked": "T. Okafor: not before May.", **_AT_SITE},
    "california_shutdown": {**_STOPS, **_AT_SITE},
    "california_reporting_process": {
        **_STOPS,
        "gases_reported": "As Alder Cove Foods, last for 2025",
        **_AT_SITE,
    },
}


def record_ground(by: User, appliance: Appliance, basis: str, on: str, **evidence: object) -> CaseFiling:
    """File one of California's grounds on its own day."""
    request = dict.fromkeys(COMPLETE["extension"])
    own = {"obligation": "repair", "basis": basis, **CALIFORNIAN[basis]}
    return file_case(by, appliance, "extension", on, **{**request, **own, **evidence})


def submission(appliance: Appliance, kind: str, on: str, **evidence: object) -> FilingSubmission:
    """Describe a filing; evidence given as None is left out."""
    details = {**COMPLETE[kind], **evidence}
    return FilingSubmission(
        appliance=appliance,
        kind=FilingKind(kind),
        happened_on=day(on),
        details={name: value for name, value in details.items() if value is not None},
    )


def file_case(by: User, appliance: Appliance, kind: str, on: str, **evidence: object) -> CaseFiling:
    """File on its own day."""
    return case_filing_file(
        by=by, submission=submission(appliance, kind, on, **evidence), filed_at=noon(day(on))
    )


def mothball(by: User, appliance: Appliance, on: str) -> CaseFiling:
    """Take the refrigerant out and mothball the appliance on one day."""
    visit = file(by, appliance, on, removed=[("80", None)])
    return file_case(by, appliance, "mothballed", on, evacuation_visit=visit.reference)


def amend_case(
    by: User, filing: CaseFiling, on: str, *, filed_on: str = "", **evidence: object
) -> CaseFiling:
    """Amend, on the day that it tells of unless told when."""
    return case_filing_amend(
        by=by,
        filing=filing,
        submission=submission(filing.appliance, filing.kind, on, **evidence),
        reason="Wrong day",
        filed_at=noon(day(filed_on or on)),
    )
