"""Checks the further facts that a visit states, against what each kind must say."""

import datetime
from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from compliance.rulebook.dates import EARLIEST_ON
from compliance.rulebook.masses import MAX_MASS_MG
from compliance.rulebook.refrigerants import find
from jobs.models import FILED_APART, StatementKind
from jobs.services.checks.visit_context import VisitContext
from jobs.services.refusals import known_designation

# Keys that a kind of statement must have; the rulebook reads them by these names.
NEEDED: Mapping[str, tuple[str, ...]] = {
    StatementKind.FULL_CHARGE_CHANGE: ("full_charge_mg",),
    StatementKind.RETROFITTED: ("refrigerant", "full_charge_mg"),
    StatementKind.CHRONIC_LEAK_REPORT_FILED: ("year",),
    StatementKind.ANNUAL_REPORT_FILED: ("year",),
}
MEANINGS = {
    "full_charge_mg": "the new full charge",
    "refrigerant": "the new refrigerant",
    "year": "the calendar year that the report is about",
}
# Where a page shows a key under another name.
SHOWN_AS = {"full_charge_mg": "full_charge"}


def check_statements(visit: VisitContext) -> None:
    """Check kind and details of every statement; what is filed by itself only an amendment of an older record keeps."""
    kept = {row.kind for row in visit.superseded.statements.all()} if visit.superseded else set()
    for position, statement in enumerate(visit.submission.statements):
        prefix = f"statements-{position}-"
        if statement.kind in FILED_APART and statement.kind not in kept:
            name = StatementKind(statement.kind).label
            expected = (
                f"Expected a filing of its own, with its evidence: “{name}” is filed on the appliance’s page."
            )
            visit.refusals.add(f"{prefix}kind", name, expected)
        for key in NEEDED.get(statement.kind, ()):
            if statement.details.get(key) in (None, ""):
                visit.refusals.add(f"{prefix}{SHOWN_AS.get(key, key)}", None, f"Expected {MEANINGS[key]}.")
        for key, value in statement.details.items():
            _check_detail(visit, key, value, f"{prefix}{SHOWN_AS.get(key, key)}")


def plain_details(details: Mapping[str, Any]) -> dict[str, Any]:
    """Checked details in JSON's own types, with the refrigerant as ASHRAE 34 writes it."""
    plain = {key: _plain(value) for key, value in details.items() if value not in (None, "")}
    if "refrigerant" in plain:
        plain["refrigerant"] = find(plain["refrigerant"]).designation
    return plain


def _check_detail(visit: VisitContext, key: str, value: Any, name: str) -> None:
    if value in (None, ""):
        return
    if key == "refrigerant":
        known_designation(visit.refusals, name, value)
    elif key == "full_charge_mg":
        if isinstance(value, bool) or not isinstance(value, int) or not 0 < value <= MAX_MASS_MG:
            visit.refusals.add(name, value, "Expected a full charge above zero, in whole milligrams.")
    elif key == "year":
        if (
            isinstance(value, bool)
            or not isinstance(value, int)
            or not EARLIEST_ON.year <= value <= visit.today.year
        ):
            visit.refusals.add(name, value, f"Expected a calendar year no later than {visit.today.year}.")
    elif not isinstance(value, str | int | Decimal | datetime.date):
        visit.refusals.add(name, value, "Expected text, a whole number, a decimal or a date.")


def _plain(value: Any) -> Any:
    return value if isinstance(value, str | int) else str(value)
