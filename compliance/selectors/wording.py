"""The rulebook's names in words for people: what pages, reports and e-mails all print."""

import datetime
from collections.abc import Iterable
from dataclasses import dataclass

from compliance.models import ObligationStatus
from compliance.rulebook.expiries import ExpiryKind
from compliance.rulebook.facts import Appliance, Fact, FactKind, LeakRateMethod
from compliance.rulebook.results import ObligationKind
from compliance.rulebook.rules import EU, UK, US_CALIFORNIA, US_FEDERAL, US_FEDERAL_HFC, US_FEDERAL_ODS
from compliance.rulebook.tables import load_tables
from compliance.rulebook.version import RULEBOOK_VERSION


@dataclass(frozen=True)
class KindWords:
    """A kind of obligation, or of what runs out: its name, what is owed, and which record meets it."""

    name: str
    owed: str
    met_by: str


KINDS: dict[ObligationKind, KindWords] = {
    ObligationKind.REPAIR: KindWords(
        "Leak repair",
        "Find the leaks and repair them.",
        "A filed repair that no failed verification test follows.",
    ),
    ObligationKind.INITIAL_VERIFICATION_TEST: KindWords(
        "Initial verification test",
        "Test each repaired leak before refrigerant goes back in.",
        "A filed initial verification test that every open leak passes.",
    ),
    ObligationKind.FOLLOW_UP_VERIFICATION_TEST: KindWords(
        "Follow-up verification test",
        "Test each repaired leak again once the appliance runs as usual.",
        "A filed follow-up verification test that every open leak passes.",
    ),
    ObligationKind.LEAK_INSPECTION: KindWords(
        "Leak inspection",
        "Inspect all visible and accessible parts for leaks.",
        "A filed leak inspection of all visible and accessible parts.",
    ),
    ObligationKind.LEAK_CHECK: KindWords(
        "Leak check",
        "Check the appliance for leaks.",
        "A filed leak inspection of all visible and accessible parts.",
    ),
    ObligationKind.RETROFIT_OR_RETIREMENT_PLAN: KindWords(
        "Retrofit or retirement plan",
        "Write, sign and date a plan to retrofit or retire the appliance.",
        "A filed retrofit or retirement plan.",
    ),
    ObligationKind.RETROFIT_OR_RETIREMENT: KindWords(
        "Retrofit or retirement",
        "Carry out the plan: retrofit or retire the appliance.",
        "A service event that states that the appliance is retrofitted or retired.",
    ),
    ObligationKind.CHRONIC_LEAK_REPORT: KindWords(
        "Chronic leak report",
        "Send the report on an appliance that leaked 125 % or more of its full charge in a calendar year.",
        "A filing that the report was sent.",
    ),
    ObligationKind.ANNUAL_REPORT: KindWords(
        "Annual report",
        "Send the facility’s report of the year before to the state.",
        "A filing that the report was sent.",
    ),
    ObligationKind.AUTOMATIC_LEAK_DETECTION: KindWords(
        "Automatic leak detection",
        "Install and use automatic leak detection.",
        "A filing that it is installed.",
    ),
    ObligationKind.LEAK_DETECTION_CALIBRATION: KindWords(
        "Leak detection calibration",
        "Audit or calibrate the automatic leak detection.",
        "A filing of the audit or calibration.",
    ),
    ObligationKind.RECORD_RETENTION: KindWords(
        "Keeping of records",
        "Keep the records of the appliance.",
        "Nothing: it ends with its date.",
    ),
}

EXPIRIES: dict[ExpiryKind, KindWords] = {
    ExpiryKind.CERTIFICATE: KindWords(
        "Certificate",
        "Renew the certificate, or record its refresher.",
        "A refresher, a new last day or another certificate of the type, recorded on the technician’s page.",
    ),
    ExpiryKind.APPRENTICESHIP: KindWords(
        "Apprentice’s exemption",
        "Have the apprentice certified: without a certificate no work on appliances is allowed after the last day.",
        "A certificate for every class of appliances, recorded on the technician’s page.",
    ),
    ExpiryKind.REQUALIFICATION: KindWords(
        "Cylinder requalification",
        "Have the cylinder tested: it isn’t filled after the last day.",
        "A filed requalification test that it passed, or a move that takes it out of use.",
    ),
    ExpiryKind.CALIBRATION: KindWords(
        "Calibration",
        "Have the instrument calibrated.",
        "A calibration recorded on the instrument’s page.",
    ),
}

RULES: dict[str, str] = {
    US_FEDERAL_ODS: "US federal, ozone-depleting refrigerants",
    US_FEDERAL_HFC: "US federal, HFCs and substitutes",
    US_FEDERAL: "US federal rules",
    US_CALIFORNIA: "California rules",
    EU: "European Union rules",
    UK: "Great Britain rules",
}

METHODS: dict[str, str] = {
    LeakRateMethod.ANNUALIZING: "annualizing",
    LeakRateMethod.ROLLING_AVERAGE: "rolling average",
}


def kind_in_words(kind: str) -> str:
    """The name of a kind of obligation, or of what runs out."""
    return _words(kind).name


def owed_in_words(kind: str) -> str:
    """What has to be done, in one sentence."""
    return _words(kind).owed


def met_by_in_words(kind: str) -> str:
    """Which record meets what is of that kind, in one sentence."""
    return _words(kind).met_by


def rule_in_words(rule: str) -> str:
    """The name of a rule or a rule set."""
    return RULES[rule]


def method_in_words(method: str) -> str:
    """The name of a leak rate method."""
    return METHODS[method]


def methods_in_words(described: Appliance, facts: Iterable[Fact], on: datetime.date) -> str:
    """The leak rate method up to a day with its changes: “Annualizing method; rolling average method from 2026-07-01”.

    Args:
        described: the appliance before its first fact.
        facts: its facts.
        on: changes up to and on this day are told.
    """
    changes = [
        f"{LeakRateMethod(fact.method).in_words} from {fact.on}"
        for fact in facts
        if fact.kind is FactKind.LEAK_RATE_METHOD_CHANGE and fact.method and fact.on <= on
    ]
    return "; ".join([described.leak_rate_method.in_words.capitalize(), *changes])


def status_in_words(status: str) -> str:
    """The name of a state of an obligation."""
    return ObligationStatus(status).label


def due_in_words(days_left: int) -> str:
    """How far off a due date is, such as “due in 3 days” or “2 days overdue”."""
    if days_left == 0:
        return "due today"
    days = "1 day" if abs(days_left) == 1 else f"{abs(days_left)} days"
    return f"due in {days}" if days_left > 0 else f"{days} overdue"


def runs_out_in_words(days_left: int) -> str:
    """How far off a last day is, such as “runs out in 3 days” or “ran out 2 days ago”."""
    if days_left == 0:
        return "runs out today"
    days = "1 day" if abs(days_left) == 1 else f"{abs(days_left)} days"
    return f"runs out in {days}" if days_left > 0 else f"ran out {days} ago"


def _words(kind: str) -> KindWords:
    return EXPIRIES[ExpiryKind(kind)] if kind in tuple(ExpiryKind) else KINDS[ObligationKind(kind)]


def rulebook_in_words() -> str:
    """Which rulebook and which of the law's tables answer now; the tables by the hash of all their files."""
    return f"{RULEBOOK_VERSION}; tables {load_tables().version}"


def lower_first(text: str) -> str:
    """A label in the middle of a sentence; names in it stay as they are."""
    return text[:1].lower() + text[1:]
