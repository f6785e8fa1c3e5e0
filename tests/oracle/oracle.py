"""The second opinion on `assess`: every rule counted slowly, and how an answer given differs from it."""

from datetime import date
from decimal import Decimal

from tests.oracle.detection import leak_detection
from tests.oracle.elsewhere import CALIFORNIA, EU, UK, elsewhere
from tests.oracle.owed import ANY
from tests.oracle.rates import HFC, ODS, LeakRates
from tests.oracle.records import Json, Unsettled
from tests.oracle.repair_cases import RepairCases
from tests.oracle.yearly import chronic_leak_reports, leak_inspections, record_retention

RULES = (HFC, ODS)
ELSEWHERE = (CALIFORNIA, EU, UK)


def answer(request: Json) -> Json:
    """Rates, obligations and headroom; a part that the documented choices leave open is left out."""
    as_of = date.fromisoformat(request["as_of"])
    rates = {rule: LeakRates(request, rule) for rule in RULES}
    rows = [row for rule in RULES for row in rates[rule].rows]
    rows.sort(key=lambda row: (row.on, row.order, row.rule))
    found: Json = {"leak_rates": rows, "obligations": {}, "headroom": "unsettled", "unsettled": []}
    for rule in ELSEWHERE:
        try:
            found["obligations"] |= elsewhere(request, rule) if rule in request["rules"] else {}
        except Unsettled as why:
            found["unsettled"].append(f"{rule}: {why}")
    if "us-federal" not in request["rules"]:
        return {**found, "leak_rates": [], "headroom": None}
    for rule in RULES:
        found["obligations"] |= _obligations(rule, rates[rule], as_of, found["unsettled"])
    if not any(fact.kind in {"retired", "retrofitted"} for fact in rates[HFC].facts):
        found["headroom"] = min(
            (mass for rule in RULES if (mass := rates[rule].headroom_mg()) is not None), default=None
        )
    return found


def _obligations(rule: str, rates: LeakRates, as_of: date, unsettled: list[str]) -> Json:
    """The expected rows of each kind of this rule; a kind is missing where nothing is demanded."""
    found: dict[tuple[str, str], list[dict[str, object]]] = {}

    def settle(kinds, rows) -> None:
        for kind in kinds:
            found[rule, kind] = []
        for row in rows:
            found[rule, row["kind"]].append(row)

    try:
        cases = RepairCases(rates, as_of)
        settle(
            (
                "repair",
                "initial_verification_test",
                "follow_up_verification_test",
                "retrofit_or_retirement_plan",
                "retrofit_or_retirement",
            ),
            cases.shown(),
        )
        settle(("leak_inspection",), leak_inspections(rates, cases, as_of))
    except Unsettled as why:
        unsettled.append(str(why))
    for kinds, count in (
        (("chronic_leak_report",), chronic_leak_reports),
        (("record_retention",), record_retention),
        (("automatic_leak_detection", "leak_detection_calibration"), leak_detection),
    ):
        try:
            settle(kinds, count(rates, as_of))
        except Unsettled as why:
            unsettled.append(str(why))
    return found


def disagreements(expected: Json, given: Json) -> list[str]:
    """Each point on which an answer given differs from the expected one."""
    found = _rate_disagreements(expected["leak_rates"], given["leak_rates"])
    for (rule, kind), rows in expected["obligations"].items():
        actual = [row for row in given["obligations"] if row["rule"] == rule and row["kind"] == kind]
        found += _obligation_disagreements(f"{rule} {kind}", rows, actual)
    if expected["headroom"] != "unsettled":
        mass = given["headroom"]["mass"]
        if (None if mass is None else mass["mg"]) != expected["headroom"]:
            found.append(f"headroom {mass}, expected {expected['headroom']} mg")
    return found


def _rate_disagreements(expected: list, given: list) -> list[str]:
    wanted = [
        {
            "on": row.on.isoformat(),
            "rule": row.rule,
            "added": row.added_mg,
            "days": row.days,
            "percent": Decimal(round(row.percent * 100)).scaleb(-2),
            "threshold": row.threshold,
            "exceeds": row.exceeds,
        }
        for row in expected
    ]
    actual = [
        {
            "on": row["on"],
            "rule": row["rule"],
            "added": row["added"]["mg"],
            "days": row["days"],
            "percent": row["percent"],
            "threshold": row["threshold_percent"],
            "exceeds": row["exceeds"],
        }
        for row in given
    ]
    if len(wanted) != len(actual):
        return [f"{len(actual)} leak rates {actual}, expected {len(wanted)} {wanted}"]
    return [
        f"leak rate {got}, expected {want}" for want, got in zip(wanted, actual, strict=True) if want != got
    ]


def _obligation_disagreements(title: str, expected: list, given: list) -> list[str]:
    wanted = [
        {key: _text(row[key]) for key in ("opened_on", "due_on", "status", "met_on")} for row in expected
    ]
    actual = [{key: row[key] for key in ("opened_on", "due_on", "status", "met_on")} for row in given]
    for rows in (wanted, actual):
        # Rows that open on one day have no order of their own.
        rows.sort(
            key=lambda row: (row["opened_on"], row["status"] != "failed", row["status"], row["due_on"] or "")
        )
    if len(wanted) != len(actual):
        return [f"{title}: {len(actual)} rows {actual}, expected {len(wanted)} {wanted}"]
    found = []
    for want, got in zip(wanted, actual, strict=True):
        if any(want[key] not in {ANY, got[key]} for key in want):
            found.append(f"{title}: {got}, expected {want}")
    return found


def _text(value: object) -> object:
    return value.isoformat() if isinstance(value, date) else value
