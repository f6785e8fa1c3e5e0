"""Whether something may be filed: its day, its evidence, and the conditions of its paragraph on that day."""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from compliance.rulebook.filings import (
    plan_conditions,
    purge_conditions,
    repair_conditions,
    report_conditions,
)
from compliance.rulebook.filings.catalogue import SPECS
from compliance.rulebook.filings.details import Details, Objection, check_details
from compliance.rulebook.filings.facts import filing_fact
from compliance.rulebook.filings.situation import Situation
from compliance.rulebook.filings.specs import FilingKind, FilingSpec

_State = Callable[[Situation], Iterator[Objection]]
_Evidence = Callable[[Situation, Details], Iterator[Objection]]


def _nothing(case: Situation, details: Details) -> Iterator[Objection]:
    return iter(())


@dataclass(frozen=True)
class _Conditions:
    """What a paragraph asks of the case, and of the evidence; whether a warning of the rules is a refusal."""

    state: _State
    evidence: _Evidence = _nothing
    is_warning_refused: bool = True


_CONDITIONS: Mapping[FilingKind, _Conditions] = {
    FilingKind.EXTENSION: _Conditions(
        # What one rule takes may come too late for another, which warns; that some rule takes it is asked before.
        repair_conditions.extension_state,
        repair_conditions.extension_evidence,
        is_warning_refused=False,
    ),
    FilingKind.SHUTDOWN_REQUIRED: _Conditions(
        repair_conditions.shutdown_state, repair_conditions.shutdown_evidence
    ),
    FilingKind.MOTHBALLED: _Conditions(
        # A return that is on record already may warn that nothing was added; that is no fault of this.
        repair_conditions.mothballed_state,
        repair_conditions.mothballed_evidence,
        is_warning_refused=False,
    ),
    FilingKind.RETURNED_TO_SERVICE: _Conditions(
        # A return without an addition happens; what it means for the clocks is said on the appliance's page.
        repair_conditions.returned_state,
        repair_conditions.returned_evidence,
        is_warning_refused=False,
    ),
    FilingKind.SEASONAL_VARIANCE: _Conditions(
        repair_conditions.seasonal_state, repair_conditions.seasonal_evidence
    ),
    FilingKind.PURGED_AND_DESTROYED: _Conditions(
        purge_conditions.purge_state, purge_conditions.purge_evidence
    ),
    FilingKind.RETROFIT_OR_RETIREMENT_ELECTED: _Conditions(plan_conditions.elected_state),
    FilingKind.RETROFIT_OR_RETIREMENT_PLAN: _Conditions(
        plan_conditions.plan_state, plan_conditions.plan_evidence
    ),
    FilingKind.RELIEF_REQUESTED: _Conditions(plan_conditions.relief_state, plan_conditions.relief_evidence),
    FilingKind.PLAN_EXTENSION: _Conditions(
        plan_conditions.plan_extension_state, plan_conditions.plan_extension_evidence
    ),
    FilingKind.AGENCY_ANSWER: _Conditions(plan_conditions.answer_state),
    FilingKind.CHRONIC_LEAK_REPORT_FILED: _Conditions(
        report_conditions.chronic_state, report_conditions.chronic_evidence
    ),
    FilingKind.ANNUAL_REPORT_FILED: _Conditions(
        report_conditions.annual_state, report_conditions.annual_evidence
    ),
    FilingKind.AUTOMATIC_LEAK_DETECTION: _Conditions(
        # Direct detection of an open appliance is allowed; that it spares no inspection is a warning.
        report_conditions.detection_state,
        report_conditions.detection_evidence,
        is_warning_refused=False,
    ),
    FilingKind.LEAK_DETECTION_ALARM: _Conditions(report_conditions.alarm_state),
    FilingKind.LEAK_DETECTION_CALIBRATION: _Conditions(report_conditions.calibration_state),
}


def state_objections(kind: FilingKind, case: Situation) -> list[Objection]:
    """Why a kind can't be filed on a day, whatever the evidence; nothing where it can.

    Args:
        kind: what is to be filed.
        case: the appliance on that day.
    """
    spec = SPECS[kind]
    if spec.needs_rules and not set(spec.needs_rules) & set(case.rules):
        expected = "Expected a site where this paragraph holds; the site’s jurisdiction is another one."
        return [Objection("kind", kind.value, expected, spec.paragraph.cited())]
    return list(_CONDITIONS[kind].state(case))


def filing_objections(kind: FilingKind, case: Situation, details: Mapping[str, Any]) -> list[Objection]:
    """Everything that speaks against a filing; nothing where it may be filed.

    Args:
        kind: what is to be filed.
        case: the appliance on the filing's day, without it.
        details: the evidence as it is to be stored.

    Source: 40 CFR 82.157 and 84.106, the paragraphs named in each objection.
    """
    spec = SPECS[kind]
    objections = state_objections(kind, case)
    shape = list(check_details(spec, details, case.applying))
    if objections or shape:
        return [*objections, *shape]
    found = list(_CONDITIONS[kind].evidence(case, Details(details)))
    return found or list(_warnings(spec, case, details))


def _warnings(spec: FilingSpec, case: Situation, details: Mapping[str, Any]) -> Iterator[Objection]:
    """What the rules themselves say against the filing, once everything else is fine."""
    fact = filing_fact(spec.kind, case.on, Details(details))
    if fact is None or not _CONDITIONS[spec.kind].is_warning_refused:
        return
    for warning in case.new_warnings(fact):
        yield Objection(
            "happened_on",
            case.on,
            f"Expected no conflict with the records. {warning}",
            case.cited(spec.paragraph),
        )
