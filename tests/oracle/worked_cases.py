"""Reads worked cases from TOML, builds their requests, and compares an answer with what each case expects.

A case names only what it is about: an expected row lists the keys that matter. But for every (rule, kind) that a case
names, the whole history of that kind must be as listed, no row more and no row less.
"""

import tomllib
from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path
from typing import Any

Json = dict[str, Any]


@dataclass(frozen=True)
class WorkedCase:
    name: str
    source: str
    request: Json
    expected: Json
    default_rule: str | None

    def __str__(self) -> str:
        return self.name


def load_cases(path: Path) -> list[WorkedCase]:
    """The cases of one TOML file; `[defaults]` gives what every case shares."""
    document = tomllib.loads(path.read_text(encoding="utf-8"), parse_float=Decimal)
    defaults = document.get("defaults", {})
    return [_case(path, defaults, raw) for raw in document["case"]]


def _case(path: Path, defaults: Json, raw: Json) -> WorkedCase:
    merged = {**defaults, **raw}
    appliance = {**defaults.get("appliance", {}), **raw.get("appliance", {})}
    request = {
        "as_of": merged["as_of"],
        "rules": merged["rules"],
        # TOML has no null: "null" stands for one, here and in what is expected.
        "appliance": {key: None if value == "null" else value for key, value in appliance.items()},
        "facts": merged["facts"],
    }
    return WorkedCase(
        f"{path.stem}-{raw['id']}", merged["source"], request, raw["expect"], merged.get("rule")
    )


def differences(case: WorkedCase, answer: Json) -> list[str]:
    """Each way in which the answer isn't what the case expects, in words; empty when it is."""
    expected = case.expected
    found: list[str] = []
    if "rates" in expected:
        rows = [{"rule": case.default_rule, **row} for row in expected["rates"]]
        rules = {row["rule"] for row in rows} or {case.default_rule}
        found += _row_differences("leak_rates", rows, [r for r in answer["leak_rates"] if r["rule"] in rules])
    found += _obligation_differences(case, answer)
    if "headroom_mg" in expected:
        mass = answer["headroom"]["mass"]
        got = None if mass is None else mass["mg"]
        want = None if expected["headroom_mg"] == "null" else expected["headroom_mg"]
        if got != want:
            found.append(f"headroom: {got} mg, expected {want} mg")
    if "applies" in expected:
        rules = sorted(row["rule"] for row in answer["applies"])
        if rules != sorted(expected["applies"]):
            found.append(f"applies: {rules}, expected {expected['applies']}")
    if bool(answer["warnings"]) != expected.get("warns", False):
        found.append(
            f"warnings: {answer['warnings']}, expected {'some' if expected.get('warns') else 'none'}"
        )
    return found


def _obligation_differences(case: WorkedCase, answer: Json) -> list[str]:
    wanted: dict[tuple[str, str], list[Json]] = {}
    for row in case.expected.get("obligations", []):
        full = {"rule": case.default_rule, **row}
        wanted.setdefault((full["rule"], full["kind"]), []).append(full)
    for kind in case.expected.get("absent", []):
        rule, _, bare = kind.rpartition("/")
        wanted.setdefault((rule or case.default_rule or "", bare), [])
    found: list[str] = []
    for (rule, kind), rows in wanted.items():
        actual = [r for r in answer["obligations"] if r["rule"] == rule and r["kind"] == kind]
        found += _row_differences(f"{rule} {kind}", rows, actual)
    return found


def _row_differences(title: str, wanted: list[Json], actual: list[Json]) -> list[str]:
    if len(wanted) != len(actual):
        shown = [{k: v for k, v in row.items() if k not in {"because", "citation"}} for row in actual]
        return [f"{title}: {len(actual)} rows, expected {len(wanted)}: got {shown}"]
    found: list[str] = []
    for number, (want, got) in enumerate(zip(wanted, actual, strict=True)):
        for key, value in want.items():
            shown = _value(got, key)
            if shown != (None if value == "null" else value):
                found.append(f"{title}[{number}].{key}: {shown!r}, expected {value!r}")
    return found


def _value(row: Json, key: str) -> object:
    if key == "added_mg":
        return row["added"]["mg"]
    return row.get(key)
