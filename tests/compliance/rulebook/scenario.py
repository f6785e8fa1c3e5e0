"""Builders of the assess document, so that a test reads as a short history of one appliance."""

from datetime import date, timedelta
from decimal import Decimal
from typing import Any

from compliance.rulebook.assess import assess
from compliance.rulebook.parse import parse
from compliance.rulebook.results import Assessment, Obligation

Facts = list[dict[str, Any]]

HFC = "us-federal-hfc"
ODS = "us-federal-ods"


def fact(kind: str, on: str, **keys: Any) -> dict[str, Any]:
    return {"on": on, "kind": kind, **keys}


def lb(value: Any) -> dict[str, Any]:
    return {"value": value if isinstance(value, int) else Decimal(str(value)), "unit": "lb"}


def mg(value: int) -> dict[str, Any]:
    return {"value": Decimal(value) / 1000, "unit": "g"}


def added(on: str, pounds: Any, **keys: Any) -> dict[str, Any]:
    return fact("addition", on, mass=lb(pounds), **keys)


def removed(on: str, pounds: Any, **keys: Any) -> dict[str, Any]:
    return fact("removal", on, mass=lb(pounds), **keys)


def repaired(on: str, **keys: Any) -> dict[str, Any]:
    return fact("repair", on, **keys)


def initial_test(on: str, passed: bool = True, **keys: Any) -> dict[str, Any]:
    return fact("initial_verification_test", on, passed=passed, **keys)


def follow_up(on: str, passed: bool = True, **keys: Any) -> dict[str, Any]:
    return fact("follow_up_verification_test", on, passed=passed, **keys)


def document(
    facts: Facts, *, as_of: str = "2026-09-01", rules: tuple[str, ...] = ("us-federal",), **appliance: Any
) -> dict[str, Any]:
    """The assess document of a comfort cooling appliance with 100 lb of R-410A, unless told otherwise."""
    charge = appliance.pop("full_charge", 100)
    described = {
        "category": "comfort_cooling",
        "refrigerant": "R-410A",
        "full_charge": charge if isinstance(charge, dict) else lb(charge),
        "leak_rate_method": "annualizing",
        "installed_on": "2019-05-01",
        **appliance,
    }
    return {"as_of": as_of, "rules": list(rules), "appliance": described, "facts": facts}


def ask(facts: Facts, **keys: Any) -> Assessment:
    request = parse(document(facts, **keys))
    return assess(request.appliance, request.facts, as_of=request.as_of, rules=request.rules)


def rows(assessment: Assessment, kind: str, rule: str | None = None) -> list[Obligation]:
    return [row for row in assessment.obligations if row.kind == kind and rule in (None, row.rule)]


def only(assessment: Assessment, kind: str, rule: str | None = None) -> Obligation:
    (row,) = rows(assessment, kind, rule)
    return row


def brief(row: Obligation) -> tuple[str, str | None, str]:
    """Opened, due, status."""
    return (str(row.opened_on), None if row.due_on is None else str(row.due_on), row.status.value)


def days_before(on: str, days: int) -> str:
    return str(date.fromisoformat(on) - timedelta(days=days))


def days_after(on: str, days: int) -> str:
    return days_before(on, -days)
