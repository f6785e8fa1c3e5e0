"""Registers appliances with their opening charge, and changes them with history."""

import datetime
from typing import Any

from django.core.exceptions import NON_FIELD_ERRORS
from django.db import transaction
from django.utils import timezone

from jobs.models import (
    Appliance,
    FullChargeMethod,
    HolderKind,
    Site,
    StockMovement,
    StockMovementKind,
    Transfer,
)
from jobs.selectors.events import current_events
from jobs.services.chain import chain_extend
from jobs.services.checks.people import check_responsible_technician
from jobs.services.entries import ApplianceEntry, EnteredMass, local_date
from jobs.services.full_charges import (
    BASIS_FIELDS,
    FULL_CHARGE_RECORD,
    basis_checked,
    basis_is_new,
    determination_file,
)
from jobs.services.holders import appliance_holder, external_holder
from jobs.services.refusals import Refusals, change_fields, known_designation, save_register
from jobs.services.transfer_reversals import reversal_of
from portal.accounts.models import User

APPLIANCE_FIELDS = frozenset(
    {
        "name",
        "category",
        "refrigerant",
        "full_charge",
        "full_charge_method",
        "full_charge_note",
        "installed_on",
        "serial_number",
        "location",
        "is_residential_or_light_commercial",
        "subsector_reason",
        "is_hermetically_sealed",
        "is_mvac_like",
        "is_enclosed",
        "technician",
    }
)
# What leak rates are calculated from: once records stand on it, only a record changes it.
CHARGE_FIELDS = frozenset({"refrigerant", "full_charge_mg"})
FORM_NAMES = {
    NON_FIELD_ERRORS: "name",
    "full_charge_mg": "full_charge",
    "full_charge_entered": "full_charge",
    "full_charge_unit": "full_charge",
}
# What a determination of the full charge states; a change of any of these is a determination of its own.
DETERMINED = ("refrigerant", "full_charge_mg", "full_charge_method", "full_charge_note")


@transaction.atomic
def appliance_register(
    *, by: User, site: Site, entry: ApplianceEntry, filed_at: datetime.datetime | None = None
) -> Appliance:
    """Register an appliance, open its account and, if it is charged, file its opening charge.

    Raises:
        SubmissionRefused: a field is not valid, the full charge is zero, it is installed in the future, or no
            certificate of the technician who looks after it covers it.
    """
    filed_at = filed_at or timezone.now()
    fields = {name: value for name, value in vars(entry).items() if name not in ("is_charged", *BASIS_FIELDS)}
    appliance = Appliance(site=site, registered_on=local_date(site, filed_at))
    _set(appliance, fields)
    refusals = _check(appliance, entry.full_charge, filed_at)
    basis = basis_checked(appliance, entry.full_charge, vars(entry), refusals)
    save_register(appliance, by=by, names=FORM_NAMES, refusals=refusals)
    appliance_holder(appliance)
    determination_file(appliance, basis, by=by, filed_at=filed_at)
    if entry.is_charged:
        _file_opening(appliance, by=by, filed_at=filed_at)
    return appliance


@transaction.atomic
def appliance_change(
    *, by: User, appliance: Appliance, filed_at: datetime.datetime | None = None, **fields: Any
) -> Appliance:
    """Change what is registered of an appliance; the former details stay in its history.

    Args:
        by: who changes.
        appliance: as registered.
        filed_at: the instant; now, unless given.
        fields: those of ApplianceEntry, ``full_charge`` as an EnteredMass; without ``full_charge_lowest``,
            ``full_charge_highest`` and ``charge_inputs`` the full charge rests on what it rested on before.

    Raises:
        SubmissionRefused: a field is not valid, the charge is changed after records were filed on it, it would be
            installed after its first visit, or no certificate of the technician who looks after it covers it.
    """
    filed_at = filed_at or timezone.now()
    appliance = Appliance.objects.select_for_update(no_key=True, of=("self",)).get(pk=appliance.pk)
    before = {name: getattr(appliance, name) for name in DETERMINED}
    installed_before = appliance.installed_on
    basis_fields = {name: fields.pop(name) for name in BASIS_FIELDS if name in fields}
    _set(appliance, fields)
    full_charge = fields.get("full_charge") or registered_full_charge(appliance)
    refusals = _check(appliance, full_charge, filed_at)
    changed = sorted(name for name in CHARGE_FIELDS if getattr(appliance, name) != before[name])
    is_restated = any(getattr(appliance, name) != before[name] for name in DETERMINED)
    is_restated = is_restated or basis_is_new(appliance, basis_fields)
    basis = basis_checked(appliance, full_charge, basis_fields, refusals) if is_restated else None
    if changed and appliance.service_events.exists():
        for name in changed:
            expected = "Records were filed on this. File the change as a service record, with its date and how it came."
            refusals.add(FORM_NAMES.get(name, name), getattr(appliance, name), expected, FULL_CHARGE_RECORD)
    if appliance.installed_on and appliance.installed_on != installed_before:
        _check_installed_before_visits(appliance, refusals)
    save_register(appliance, by=by, names=FORM_NAMES, refusals=refusals)
    if basis is not None:
        determination_file(appliance, basis, by=by, filed_at=filed_at)
    opening = Transfer.objects.filter(stock_movement__appliance=appliance, reverses=None, reversed_by=None)
    if changed and (old := opening.first()):
        _file_opening(appliance, by=by, filed_at=filed_at, replaces=old)
    return appliance


def registered_full_charge(appliance: Appliance) -> EnteredMass:
    """The full charge on the register as it was typed."""
    return EnteredMass(appliance.full_charge_entered, appliance.full_charge_unit, appliance.full_charge_mg)


def _set(appliance: Appliance, fields: dict[str, Any]) -> None:
    plain = {name: value for name, value in fields.items() if name != "full_charge"}
    change_fields(appliance, plain, APPLIANCE_FIELDS)
    if mass := fields.get("full_charge"):
        appliance.full_charge_mg = mass.mass_mg
        appliance.full_charge_entered = mass.value
        appliance.full_charge_unit = mass.unit


def _check(appliance: Appliance, full_charge: EnteredMass, filed_at: datetime.datetime) -> Refusals:
    """What is wrong with the register that its model doesn't see."""
    refusals = Refusals()
    today = local_date(appliance.site, filed_at)
    appliance.refrigerant = known_designation(refusals, "refrigerant", appliance.refrigerant)
    if full_charge.mass_mg <= 0:
        refusals.add(
            "full_charge", str(full_charge), "Expected a full charge above zero.", FULL_CHARGE_RECORD
        )
    refusals.check_day("installed_on", appliance.installed_on, latest=today)
    if (
        appliance.full_charge_method == FullChargeMethod.ESTABLISHED_RANGE
        and not appliance.full_charge_note.strip()
    ):
        expected = "Expected the ends of the range, its midpoint and how it was derived."
        refusals.add("full_charge_note", "", expected, FULL_CHARGE_RECORD)
    if appliance.is_residential_or_light_commercial and not appliance.subsector_reason.strip():
        expected = (
            "Expected why it counts as residential or light commercial air conditioning or a heat pump."
        )
        refusals.add("subsector_reason", "", expected, "40 CFR 84.106(a)(3)(ii)")
    if {refusal.field for refusal in refusals.found}.isdisjoint({"refrigerant", "full_charge"}):
        check_responsible_technician(appliance, refusals, today=today)
    return refusals


def _check_installed_before_visits(appliance: Appliance, refusals: Refusals) -> None:
    """Note the first visit on record if the appliance would be installed after it."""
    first = current_events(appliance).first()
    if first is not None and appliance.installed_on > first.happened_on:
        expected = f"Expected a date no later than {first.happened_on}: {first} is of that day. "
        expected += "If that record has the wrong date, amend it first."
        refusals.add("installed_on", appliance.installed_on, expected)


def _file_opening(
    appliance: Appliance, *, by: User, filed_at: datetime.datetime, replaces: Transfer | None = None
) -> StockMovement:
    """File the charge that the appliance holds when its books begin, in place of a former one if given."""
    movement = StockMovement.objects.create(
        kind=StockMovementKind.APPLIANCE_OPENING,
        appliance=appliance,
        happened_on=appliance.registered_on,
        filed_at=filed_at,
        filed_by=by,
    )
    if replaces:
        reversal_of(replaces, position=1, stock_movement=movement).save()
    Transfer.objects.create(
        stock_movement=movement,
        refrigerant=appliance.refrigerant,
        from_holder=external_holder(HolderKind.OPENING_BALANCE),
        to_holder=appliance.holder,
        mass_mg=appliance.full_charge_mg,
        entered_value=appliance.full_charge_entered,
        entered_unit=appliance.full_charge_unit,
        happened_on=appliance.registered_on,
    )
    chain_extend(movement, [appliance])
    return movement
