"""What happened to an appliance, in plain words: the kinds of fact that the rulebook reads, and single facts."""

from collections.abc import Iterator
from typing import Any

from compliance.rulebook.facts import FactKind
from compliance.rulebook.filings import california_specs
from compliance.rulebook.results import ObligationKind
from compliance.selectors.wording import KINDS, METHODS, lower_first
from jobs.models import StatementKind, TransferReason

FACT_KINDS: dict[FactKind, str] = {
    FactKind.ADDITION: "Refrigerant added",
    FactKind.REMOVAL: "Refrigerant taken out",
    FactKind.LEAK_INSPECTION: "Leak inspection",
    FactKind.REPAIR: "Leak repaired",
    FactKind.INITIAL_VERIFICATION_TEST: "Initial verification test",
    FactKind.FOLLOW_UP_VERIFICATION_TEST: "Follow-up verification test",
    FactKind.EXTENSION: "Longer time for a repair or test",
    FactKind.RELIEF_REQUESTED: "Relief from the plan asked for",
    FactKind.PLAN_EXTENSION: "Longer time for the plan’s work asked for",
    FactKind.AGENCY_ANSWER: "Agency answered",
    FactKind.AUTOMATIC_LEAK_DETECTION: "Automatic leak detection installed",
    FactKind.LEAK_DETECTION_CALIBRATION: "Automatic leak detection calibrated",
    FactKind.LEAK_RATE_METHOD_CHANGE: "Leak rate method changed",
    **{FactKind(kind.value): str(kind.label) for kind in StatementKind},
}

# The order in which a person looks for them: the work on a leak first, then what becomes of the appliance.
FACT_GROUPS: tuple[tuple[str, tuple[FactKind, ...]], ...] = (
    ("Refrigerant", (FactKind.ADDITION, FactKind.REMOVAL)),
    (
        "Leaks",
        (
            FactKind.LEAK_INSPECTION,
            FactKind.REPAIR,
            FactKind.INITIAL_VERIFICATION_TEST,
            FactKind.NORMAL_OPERATION,
            FactKind.FOLLOW_UP_VERIFICATION_TEST,
            FactKind.EXTENSION,
            FactKind.INDUSTRIAL_PROCESS_SHUTDOWN_REQUIRED,
        ),
    ),
    (
        "The appliance",
        (
            FactKind.FULL_CHARGE_CHANGE,
            FactKind.MOTHBALLED,
            FactKind.RETURNED_TO_SERVICE,
            FactKind.AUTOMATIC_LEAK_DETECTION,
            FactKind.LEAK_DETECTION_CALIBRATION,
            FactKind.LEAK_RATE_METHOD_CHANGE,
        ),
    ),
    (
        "Retrofit and retirement",
        (
            FactKind.RETROFIT_OR_RETIREMENT_ELECTED,
            FactKind.RETROFIT_OR_RETIREMENT_PLAN,
            FactKind.PLAN_EXTENSION,
            FactKind.RELIEF_REQUESTED,
            FactKind.AGENCY_ANSWER,
            FactKind.RETROFITTED,
            FactKind.RETIRED,
        ),
    ),
    ("Reports", (FactKind.CHRONIC_LEAK_REPORT_FILED, FactKind.ANNUAL_REPORT_FILED)),
)

EXTENSION_BASES = {
    "parts": "Parts are not to be had in time",
    "radiological": "Radiological contamination of the site",
    "other_regulation": "Another regulation forbids the work in time",
    **dict(california_specs.GROUNDS),
}
DETECTION_TYPES = {
    "direct": "Direct: it senses refrigerant in the air",
    "indirect": "Indirect: it watches the appliance’s own readings",
}

NO_BREAK_SPACE = "\u00a0"

# What is said of a yes and of a no, by the document's key.
VERDICTS = (
    ("evacuated", "evacuated for it", ""),
    ("passed", "passed", "failed"),
    ("all_leaks", "", "not every leak"),
    ("granted", "granted", "refused"),
)


def fact_in_words(fact: dict[str, Any]) -> str:
    """One fact of an ``assess`` document as a line of a list: what, how much, and what sets it apart."""
    kind = FactKind(fact["kind"])
    return ", ".join([FACT_KINDS[kind], *_details(kind, fact)])


def _details(kind: FactKind, fact: dict[str, Any]) -> Iterator[str]:
    yield from _amounts(fact)
    yield from _verdicts(fact)
    yield from _filings(kind, fact)
    if fact.get("leak"):
        yield f"leak {fact['leak']}"


def _amounts(fact: dict[str, Any]) -> Iterator[str]:
    for key in ("mass", "full_charge"):
        if key in fact:
            yield quantity_in_words(fact[key])
    if purged := fact.get("purged_and_destroyed"):
        yield f"{quantity_in_words(purged)} of it purged and destroyed"
    if "refrigerant" in fact:
        yield fact["refrigerant"]
    if "leak_rate_method" in fact:
        yield f"{METHODS[fact['leak_rate_method']]} from then on"
    if fact.get("reason", "service") != "service":
        yield str(TransferReason(fact["reason"]).label).lower()
    found = fact.get("leaks_found")
    if found is not None:
        # The document takes true and false as well as a number.
        yield f"leaks found: {({True: 'yes', False: 'no'}[found]) if isinstance(found, bool) else found}"


def _verdicts(fact: dict[str, Any]) -> Iterator[str]:
    for key, yes, no in VERDICTS:
        if key in fact and (words := yes if fact[key] else no):
            yield words


def _filings(kind: FactKind, fact: dict[str, Any]) -> Iterator[str]:
    if kind is FactKind.EXTENSION:
        yield KINDS[ObligationKind(fact["obligation"])].name.lower()
        yield lower_first(EXTENSION_BASES[fact["basis"]])
    elif fact.get("basis"):
        yield fact["basis"].replace("_", " ")
    for key, before in (("delivered_on", "delivered "), ("until", "until "), ("type", ""), ("year", "")):
        if fact.get(key):
            yield f"{before}{fact[key]}"


def quantity_in_words(quantity: dict[str, Any]) -> str:
    """A mass as it was typed, such as “7 lb” or “3 lb 4.5 oz”, never broken over two lines."""
    is_one = "unit" in quantity
    figures = [(quantity["value"], quantity["unit"])] if is_one else [(quantity[u], u) for u in ("lb", "oz")]
    return NO_BREAK_SPACE.join(f"{figure}{NO_BREAK_SPACE}{unit}" for figure, unit in figures)
