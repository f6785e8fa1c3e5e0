"""Automatic leak detection under the federal rules: where it is owed, its calibration, and what it replaces.

Source: 40 CFR 82.157(g)(4), 84.106(g)(4); 40 CFR 84.108 from memory.
"""

from datetime import date, timedelta

from tests.oracle.rates import EFFECTIVE, HFC, POUND_MG, LeakRates, is_subject, reached
from tests.oracle.records import Json, Unsettled, months_later

LARGE_SYSTEMS = {"commercial_refrigeration", "industrial_process_refrigeration"}


def days_of(rates: LeakRates, kind: str) -> list[date]:
    return sorted({fact.on for fact in rates.facts if fact.kind == kind})


def replaces_inspection(rates: LeakRates, due_on: date) -> bool:
    """Whether detection was installed or calibrated in the year before; direct detection only inside a building."""
    systems = [fact for fact in rates.facts if fact.kind == "automatic_leak_detection" and fact.on <= due_on]
    is_enclosed = rates.request["appliance"].get("enclosed", False)
    if not any(fact.detail["type"] == "indirect" or is_enclosed for fact in systems):
        return False
    fresh = [*(fact.on for fact in systems), *days_of(rates, "leak_detection_calibration")]
    return any(day <= due_on <= months_later(day, 12) for day in fresh)


def calibrations(rates: LeakRates, retired_on: date | None, as_of: date) -> list[Json]:
    from tests.oracle.yearly import due_row  # noqa: PLC0415 -- inspections there ask what detection replaces

    rows: list[Json] = []
    installed = days_of(rates, "automatic_leak_detection")
    since = installed[0] if installed else None
    while since is not None and not (retired_on is not None and retired_on <= since):
        due_on = months_later(since, 12)
        done = next((day for day in days_of(rates, "leak_detection_calibration") if day > since), None)
        if due_on >= EFFECTIVE[rates.rule]:
            row = due_row("leak_detection_calibration", since, due_on, done, as_of)
            if retired_on is not None and due_on > retired_on and (done is None or done > retired_on):
                row.update(status="cancelled", met_on=None)
            rows.append(row)
        since = done
    return rows


def installation(rates: LeakRates, retired_on: date | None, as_of: date) -> list[Json]:
    """From 1,500 lb: 30 days after an installation of 2026 or later, by 2027-01-01 for those since 2017."""
    from tests.oracle.yearly import due_row  # noqa: PLC0415 -- as above

    appliance = rates.request["appliance"]
    is_large = reached(rates.states[-1].full_charge_mg, 1500 * POUND_MG, 1)
    if rates.rule != HFC or retired_on is not None or not is_large or appliance.get("installed_on") is None:
        return []
    if appliance["category"] not in LARGE_SYSTEMS or as_of < EFFECTIVE[HFC]:
        return []
    installed_on = date.fromisoformat(appliance["installed_on"])
    if installed_on < date(2017, 1, 1):
        return []
    is_new = installed_on >= date(2026, 1, 1)
    opened_on = installed_on if is_new else date(2026, 1, 1)
    due_on = installed_on + timedelta(days=30) if is_new else date(2027, 1, 1)
    done = next(iter(days_of(rates, "automatic_leak_detection")), None)
    return [due_row("automatic_leak_detection", opened_on, due_on, done, as_of)] if opened_on <= as_of else []


def leak_detection(rates: LeakRates, as_of: date) -> list[Json]:
    subject = {is_subject(rates.rule, rates.request, state, as_of) for state in rates.states}
    if len(subject) > 1:
        raise Unsettled("detection of an appliance that comes under the rule or out of it")
    if subject == {False}:
        return []
    retired = [fact.on for fact in rates.facts if fact.kind == "retired"]
    retired_on = retired[0] if retired else None
    return [*calibrations(rates, retired_on, as_of), *installation(rates, retired_on, as_of)]
