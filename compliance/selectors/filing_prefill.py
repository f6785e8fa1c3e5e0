"""What a filing's form stands filled with: what the records know already."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from compliance.rulebook.evacuation_levels import PSIG
from compliance.rulebook.facts import Fact, FactKind
from compliance.rulebook.filings.plan_conditions import completion_due_on, relief_repairs_by
from compliance.rulebook.filings.purge_conditions import is_counted_addition
from compliance.rulebook.filings.report_conditions import reported_years
from compliance.rulebook.filings.situation import Situation
from compliance.rulebook.filings.specs import EvidenceType, FilingKind, FilingSpec
from compliance.rulebook.masses import format_mass
from compliance.rulebook.results import ObligationKind
from jobs.models import Appliance

US_AGENCY = "United States Environmental Protection Agency"
EXTENDABLE = (
    ObligationKind.REPAIR,
    ObligationKind.INITIAL_VERIFICATION_TEST,
    ObligationKind.FOLLOW_UP_VERIFICATION_TEST,
)


@dataclass(frozen=True)
class VisitOption:
    """A visit that moved refrigerant, as a form offers it."""

    reference: str
    label: str


def visit_options(situation: Situation, kind: EvidenceType) -> list[VisitOption]:
    """The visits up to the day that took refrigerant out, or put it in, newest first."""
    is_removal = kind is EvidenceType.VISIT_THAT_REMOVED
    moved: dict[str, list[Fact]] = {}
    for fact in situation.before(FactKind.REMOVAL if is_removal else FactKind.ADDITION):
        if fact.event:
            moved.setdefault(fact.event, []).append(fact)
    verb = "took out" if is_removal else "added"
    return [
        VisitOption(reference, f"{facts[0].on} · {reference} · {verb} {_total(facts)}{_season_words(facts)}")
        for reference, facts in reversed(moved.items())
    ]


def filing_prefill(
    spec: FilingSpec, appliance: Appliance, situation: Situation, *, settles: str = ""
) -> dict[str, Any]:
    """Initial values of a filing's form, by the names of its evidence.

    Args:
        spec: the kind.
        appliance: with its site and customer.
        situation: of the day that the form begins with.
        settles: the kind of obligation that the person comes from; nothing if from none.
    """
    known: dict[str, Any] = {
        "signed_by": appliance.site.customer.contact_name,
        "decided_by": appliance.site.customer.contact_name,
        "pressure_unit": PSIG,
        "agency": US_AGENCY,
        **(of_kind(appliance, situation, settles) if (of_kind := _BY_KIND.get(spec.kind)) else {}),
    }
    return {name: value for name, value in known.items() if name in {field.name for field in spec.fields}}


def _extension(appliance: Appliance, situation: Situation, settles: str) -> dict[str, Any]:
    running = [row.kind for row in situation.running(*EXTENDABLE)]
    return {"obligation": settles if settles in EXTENDABLE else next(iter(running), "")}


def _mothballing(appliance: Appliance, situation: Situation, settles: str) -> dict[str, Any]:
    options = visit_options(situation, EvidenceType.VISIT_THAT_REMOVED)
    return {
        "extent": "whole",
        "evacuation_visit": next((option.reference for option in options), ""),
    }


def _return(appliance: Appliance, situation: Situation, settles: str) -> dict[str, Any]:
    mothballed = situation.before(FactKind.MOTHBALLED)
    added = situation.before(FactKind.ADDITION)
    is_since = bool(mothballed and added) and added[-1].on >= mothballed[-1].on
    return {"addition_visit": (added[-1].event or "") if is_since else ""}


def _season(appliance: Appliance, situation: Situation, settles: str) -> dict[str, Any]:
    removed = [fact for fact in situation.before(FactKind.REMOVAL) if fact.reason == "seasonal_variance"]
    added = [
        fact
        for fact in situation.before(FactKind.ADDITION)
        if fact.reason == "seasonal_variance" and removed and fact.on > removed[-1].on
    ]
    return {
        "removal_visit": removed[-1].event if removed else "",
        "addition_visit": added[-1].event if added else "",
        "statement": f"The seasonal variance is used for {appliance}: what was taken out for the change of season "
        "and is put back is left out of the leak rate.",
    }


def _purge(appliance: Appliance, situation: Situation, settles: str) -> dict[str, Any]:
    counted = [fact for fact in situation.before(FactKind.ADDITION) if is_counted_addition(fact)]
    site = appliance.site
    contact = (site.customer.contact_name, site.customer.phone, *site.address_lines)
    return {
        "addition_visit": (counted[-1].event or "") if counted else "",
        "contact": "\n".join(part for part in contact if part),
    }


def _plan(appliance: Appliance, situation: Situation, settles: str) -> dict[str, Any]:
    return {
        "completion_on": completion_due_on(situation),
        "kept_at": ", ".join(part for part in (appliance.site.name, appliance.location) if part),
    }


def _relief(appliance: Appliance, situation: Situation, settles: str) -> dict[str, Any]:
    return {"repairs_done_by": relief_repairs_by(situation)}


def _report(appliance: Appliance, situation: Situation, settles: str) -> dict[str, Any]:
    return {"year": next(iter(reported_years(situation)), situation.on.year - 1)}


_BY_KIND: Mapping[FilingKind, Callable[[Appliance, Situation, str], dict[str, Any]]] = {
    FilingKind.EXTENSION: _extension,
    FilingKind.MOTHBALLED: _mothballing,
    FilingKind.RETURNED_TO_SERVICE: _return,
    FilingKind.SEASONAL_VARIANCE: _season,
    FilingKind.PURGED_AND_DESTROYED: _purge,
    FilingKind.RETROFIT_OR_RETIREMENT_PLAN: _plan,
    FilingKind.RELIEF_REQUESTED: _relief,
    FilingKind.CHRONIC_LEAK_REPORT_FILED: _report,
    FilingKind.ANNUAL_REPORT_FILED: _report,
}


def _total(facts: list[Fact]) -> str:
    return format_mass(sum(fact.mass_mg or 0 for fact in facts))


def _season_words(facts: list[Fact]) -> str:
    return ", seasonal" if any(fact.reason == "seasonal_variance" for fact in facts) else ""
