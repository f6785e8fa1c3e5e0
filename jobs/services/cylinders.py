"""Registers cylinders with their opening contents, and changes them with history."""

import datetime
from typing import Any

from django.db import transaction
from django.utils import timezone

from compliance.rulebook.requalification import allowed_periods, is_non_refillable, recovery_period
from jobs.models import Cylinder, CylinderKind
from jobs.selectors.ledger import cylinder_contents
from jobs.selectors.requalification import tests_of
from jobs.services.entries import CylinderEntry
from jobs.services.holders import cylinder_holder
from jobs.services.refusals import Refusals, change_fields, known_designation, save_register
from jobs.services.stock import opening_record
from portal.accounts.models import User

MASS_FIELDS = ("water_capacity", "tare")
CYLINDER_FIELDS = frozenset(
    {
        "serial_number",
        "kind",
        "specification",
        "requalified_on",
        "requalification_period_years",
        "refrigerant",
        "place",
        "place_note",
    }
)
FORM_NAMES = {f"{mass}_{part}": mass for mass in MASS_FIELDS for part in ("mg", "entered", "unit")}


@transaction.atomic
def cylinder_register(
    *, by: User, entry: CylinderEntry, filed_at: datetime.datetime | None = None
) -> Cylinder:
    """Register a cylinder, open its account and file what it holds, if anything.

    Raises:
        SubmissionRefused: a field is not valid, the serial number is taken, or it can't hold its contents.
    """
    filed_at = filed_at or timezone.now()
    fields = {name: value for name, value in vars(entry).items() if not name.startswith("contents")}
    cylinder = Cylinder()
    _set(cylinder, fields)
    refusals = _check(cylinder, filed_at)
    save_register(cylinder, by=by, names=FORM_NAMES, refusals=refusals)
    cylinder_holder(cylinder)
    if entry.contents:
        opened_on = entry.contents_on or timezone.localdate(filed_at)
        opening_record(
            by=by, cylinder=cylinder, mass=entry.contents, happened_on=opened_on, filed_at=filed_at
        )
    return cylinder


@transaction.atomic
def cylinder_change(
    *, by: User, cylinder: Cylinder, filed_at: datetime.datetime | None = None, **fields: Any
) -> Cylinder:
    """Change what is registered of a cylinder; the former details stay in its history.

    Args:
        by: who changes.
        cylinder: as registered.
        filed_at: the instant; now, unless given.
        fields: those of CylinderEntry but its contents; ``water_capacity`` and ``tare`` as EnteredMass.

    Raises:
        SubmissionRefused: a field is not valid, it is dedicated to another refrigerant than it holds, or its test date
            is changed beside a test on record.
    """
    cylinder = Cylinder.objects.select_for_update(no_key=True).get(pk=cylinder.pk)
    tested_on = cylinder.requalified_on
    _set(cylinder, fields)
    refusals = _check(cylinder, filed_at or timezone.now())
    if cylinder.requalified_on != tested_on and tests_of(cylinder).passed_on:
        expected = (
            f"It follows the test of {tested_on}, which is on record. File the next test on the cylinder's page, or "
            "withdraw that one if it is wrong."
        )
        refusals.add("requalified_on", cylinder.requalified_on, expected)
    if cylinder.refrigerant and (
        others := sorted(cylinder_contents(cylinder).keys() - {cylinder.refrigerant})
    ):
        refusals.add("refrigerant", cylinder.refrigerant, f"The cylinder still holds {' and '.join(others)}.")
    save_register(cylinder, by=by, names=FORM_NAMES, refusals=refusals)
    return cylinder


def _set(cylinder: Cylinder, fields: dict[str, Any]) -> None:
    change_fields(
        cylinder, {name: value for name, value in fields.items() if name not in MASS_FIELDS}, CYLINDER_FIELDS
    )
    for name in MASS_FIELDS:
        if mass := fields.get(name):
            setattr(cylinder, f"{name}_mg", mass.mass_mg)
            setattr(cylinder, f"{name}_entered", mass.value)
            setattr(cylinder, f"{name}_unit", mass.unit)


def _check(cylinder: Cylinder, filed_at: datetime.datetime) -> Refusals:
    """What is wrong with the register that its model doesn't see."""
    refusals = Refusals()
    if cylinder.refrigerant:
        cylinder.refrigerant = known_designation(refusals, "refrigerant", cylinder.refrigerant)
    for name in MASS_FIELDS:
        if getattr(cylinder, f"{name}_mg") <= 0:
            refusals.add(name, getattr(cylinder, f"{name}_entered"), "Expected a mass above zero.")
    refusals.check_day("requalified_on", cylinder.requalified_on, latest=timezone.localdate(filed_at))
    _check_period(refusals, cylinder, timezone.localdate(filed_at))
    if cylinder.kind != CylinderKind.DISPOSABLE and is_non_refillable(cylinder.specification):
        expected = f"Expected a disposable cylinder: {cylinder.specification} is never refilled."
        refusals.add("kind", cylinder.get_kind_display(), expected, "49 CFR 178.65")
    return refusals


def _check_period(refusals: Refusals, cylinder: Cylinder, today: datetime.date) -> None:
    """Note a period that the specification doesn't have, or a longer one of a recovery cylinder without a reason."""
    period = cylinder.requalification_period_years
    former = (
        Cylinder.objects.filter(pk=cylinder.pk).values_list("requalification_period_years", flat=True).first()
    )
    if period is None or period == former:
        return
    periods, own = allowed_periods(cylinder.specification, on=today), recovery_period(on=today)
    if period not in periods.years:
        expected = f"Expected {periods.in_words} years for this specification."
        refusals.add("requalification_period_years", period, expected, periods.citation)
    elif cylinder.kind == CylinderKind.RECOVERY and period > own.count:
        expected = (
            f"Expected {own.count} years for a recovery cylinder. A longer period is recorded by the compliance "
            "officer with the reason, on the cylinder's page."
        )
        refusals.add("requalification_period_years", period, expected, own.citation)
