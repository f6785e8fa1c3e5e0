"""An assessment as the JSON document that the assess command prints."""

import json
from datetime import date
from decimal import Decimal
from typing import Any

from compliance.rulebook.errors import InvalidInput
from compliance.rulebook.masses import mass_answer
from compliance.rulebook.results import Assessment, LeakRate, Obligation, RuleVerdict


def answer(assessment: Assessment) -> dict[str, Any]:
    """The assessment as plain objects; dates as ``YYYY-MM-DD``, masses in mg, kg and lb, percentages rounded."""
    headroom = assessment.headroom
    return {
        "as_of": assessment.as_of.isoformat(),
        "holds_until": assessment.holds_until.isoformat(),
        "applies": [_verdict(verdict) for verdict in assessment.applies],
        "does_not_apply": [_verdict(verdict) for verdict in assessment.does_not_apply],
        "leak_rates": [_leak_rate(rate) for rate in assessment.leak_rates],
        "obligations": [_obligation(obligation) for obligation in assessment.obligations],
        "headroom": {
            "on": headroom.on.isoformat(),
            "mass": None if headroom.mass_mg is None else mass_answer(headroom.mass_mg),
            "because": headroom.because,
        },
        "warnings": list(assessment.warnings),
        "tables_version": assessment.tables_version,
    }


def answer_json(assessment: Assessment) -> str:
    """The assessment as indented JSON text."""
    return json.dumps(answer(assessment), ensure_ascii=False, indent=2, default=_plain)


def error_json(error: InvalidInput) -> str:
    """The one JSON object that stands for bad input."""
    document = {"error": {"field": error.field, "value": error.value, "expected": error.expected}}
    return json.dumps(document, ensure_ascii=True, default=_plain)


def _verdict(verdict: RuleVerdict) -> dict[str, Any]:
    return {"rule": verdict.rule, "citation": verdict.citation, "because": verdict.because}


def _leak_rate(rate: LeakRate) -> dict[str, Any]:
    return {
        "on": rate.on.isoformat(),
        "rule": rate.rule,
        "method": rate.method.value,
        "added": mass_answer(rate.added_mg),
        "days": rate.days,
        "percent": rate.percent_rounded,
        "threshold_percent": rate.threshold_pct,
        "exceeds": rate.exceeds,
        "event": rate.event,
        "because": rate.because,
    }


def _obligation(obligation: Obligation) -> dict[str, Any]:
    return {
        "rule": obligation.rule,
        "kind": obligation.kind.value,
        "opened_on": obligation.opened_on.isoformat(),
        "due_on": _day(obligation.due_on),
        "status": obligation.status.value,
        "met_on": _day(obligation.met_on),
        "citation": obligation.citation,
        "because": obligation.because,
        "confirmed": obligation.is_confirmed,
        "opened_by_event": obligation.opened_by_event,
        "met_by_event": obligation.met_by_event,
    }


def _day(on: date | None) -> str | None:
    return None if on is None else on.isoformat()


def _plain(value: Any) -> Any:
    """JSON has one kind of number: decimals are written as such, anything else as its text."""
    return float(value) if isinstance(value, Decimal) else str(value)
