"""Movements of stock: purchases, shipments, and what they are refused for."""

import datetime
from uuid import uuid4

import pytest
from django.db import IntegrityError

from jobs.models import HolderKind, ServiceEvent, StockMovement, StockMovementKind
from jobs.selectors.ledger import cylinder_contents, holder_balances, refrigerant_totals
from jobs.services.holders import cylinder_holder
from jobs.services.once import file_once
from tests.factories import CylinderFactory, entered, file_event, recovered, supply_cylinder
from tests.jobs.refused import refused
from tests.jobs.test_transfer_refusals import purchase, ship

pytestmark = pytest.mark.django_db


def test_purchase_moves_mass_from_the_supplier():
    movement = purchase(CylinderFactory(), "25 lb", document_number=" INV-1 ", supplier_name=" Harbor Gas ")

    transfer = movement.transfers.get()
    assert (transfer.from_holder.kind, transfer.from_holder.name) == (HolderKind.SUPPLIER, "Harbor Gas")
    assert movement.document_number == "INV-1"
    assert refrigerant_totals() == {"R-410A": 0}


def test_supplier_named_twice_is_one_holder():
    first, second = purchase(CylinderFactory(), "5 lb"), purchase(CylinderFactory(), "5 lb")

    assert first.transfers.get().from_holder == second.transfers.get().from_holder


@pytest.mark.parametrize(
    ("mass", "fields", "field"),
    [
        ("0 lb", {}, "mass"),
        ("105 lb", {}, "mass"),
        # R-410A leaves room at 60 °C in 47.7 lb of water up to 39 lb (815 kg/m³, ASHRAE Handbook, from memory).
        ("40 lb", {}, "mass"),
        ("5 lb", {"refrigerant": "R-0"}, "refrigerant"),
        ("5 lb", {"supplier_name": " "}, "supplier_name"),
        ("5 lb", {"happened_on": datetime.date(2026, 3, 3)}, "happened_on"),
        ("5 lb", {"happened_on": datetime.date(1899, 12, 31)}, "happened_on"),
        ("5 lb", {"document_number": "x" * 81}, "document_number"),
    ],
)
def test_purchase_is_refused_at_the_field_that_is_wrong(mass, fields, field):
    assert field in refused(purchase, CylinderFactory(), mass, **fields)
    assert StockMovement.objects.count() == 0


def test_purchase_is_not_mixed_into_another_refrigerant():
    cylinder = CylinderFactory()
    purchase(cylinder, "5 lb", refrigerant="R-22")

    assert refused(purchase, cylinder, "5 lb", refrigerant="R-410A").keys() == {"refrigerant"}


def test_shipment_takes_all_that_the_cylinder_holds():
    cylinder = CylinderFactory()
    file_event(transfers=(recovered(cylinder, "3+4.5 lb+oz"),))

    movement = ship(cylinder)

    assert cylinder_contents(cylinder) == {}
    assert movement.kind == StockMovementKind.RECLAMATION
    transfer = movement.transfers.get()
    # 3 lb 4.5 oz are 1 488 350 mg (0.45359237 kg a pound, rounded half up).
    assert (transfer.entered_value, transfer.entered_unit, transfer.mass_mg) == ("1488.35", "g", 1_488_350)


def test_transfer_tells_its_mass_as_it_was_typed():
    movement = purchase(CylinderFactory(), "3+4.5 lb+oz")

    assert movement.transfers.get().as_typed == "3 lb 4.5 oz"
    assert str(movement.transfers.get()).startswith("3 lb 4.5 oz R-410A: Harbor Gas")


def test_shipment_takes_a_part_to_a_destruction_facility():
    cylinder = supply_cylinder("10 lb")

    movement = ship(cylinder, "4 lb", destination_kind="destruction_facility")

    assert movement.kind == StockMovementKind.DESTRUCTION
    assert cylinder_contents(cylinder) == {"R-410A": entered("10 lb").mass_mg - entered("4 lb").mass_mg}


@pytest.mark.parametrize(
    ("mass", "fields", "field"),
    [
        ("11 lb", {}, "mass"),
        ("0 lb", {}, "mass"),
        ("1 lb", {"destination_kind": "atmosphere"}, "destination_kind"),
        ("1 lb", {"destination_name": ""}, "destination_name"),
        ("1 lb", {"happened_on": datetime.date(2026, 3, 3)}, "happened_on"),
        (None, {"happened_on": datetime.date(2024, 12, 31)}, "happened_on"),
    ],
)
def test_shipment_is_refused_at_the_field_that_is_wrong(mass, fields, field):
    cylinder = supply_cylinder("10 lb")

    assert field in refused(ship, cylinder, mass, **fields)
    assert StockMovement.objects.count() == 1


def test_late_shipment_does_not_take_what_later_records_drew():
    cylinder = supply_cylinder("10 lb")
    ship(cylinder, "6 lb")

    assert (
        "2026-03-02"
        in refused(ship, cylinder, "5 lb", happened_on=datetime.date(2026, 2, 1))["mass"].expected
    )


def test_same_movement_twice_is_filed_once():
    cylinder, once = CylinderFactory(), uuid4()

    first, again = (
        purchase(cylinder, "5 lb", submission_id=once),
        purchase(cylinder, "5 lb", submission_id=once),
    )
    shipped = uuid4()

    assert first == again
    assert ship(cylinder, submission_id=shipped) == ship(cylinder, submission_id=shipped)
    assert StockMovement.objects.count() == 2


# What was typed the second time would be lost if the form answered with the first record.
@pytest.mark.parametrize(
    ("mass", "fields", "field"),
    [
        ("5.01 lb", {}, "mass"),
        ("5 lb", {"refrigerant": "R-22"}, "refrigerant"),
        ("5 lb", {"supplier_name": "Tern Gas"}, "supplier_name"),
        ("5 lb", {"happened_on": datetime.date(2025, 1, 3)}, "happened_on"),
        ("5 lb", {"document_number": "INV-2"}, "document_number"),
        ("5 lb", {"note": "Two cylinders."}, "note"),
    ],
)
def test_purchase_is_refused_when_its_form_was_filed_with_other_contents(mass, fields, field):
    cylinder, once = CylinderFactory(), uuid4()
    purchase(cylinder, "5 lb", submission_id=once, document_number="INV-1")

    refusals = refused(
        purchase, cylinder, mass, **{"submission_id": once, "document_number": " INV-1", **fields}
    )

    assert refusals.keys() == {field}
    assert "filed before" in refusals[field].expected
    assert StockMovement.objects.count() == 1


@pytest.mark.parametrize(
    ("mass", "fields", "field"),
    [
        ("4.5 lb", {}, "mass"),
        (None, {}, "mass"),
        ("4 lb", {"destination_kind": "destruction_facility"}, "destination_kind"),
        ("4 lb", {"destination_name": "Four Rivers"}, "destination_name"),
    ],
)
def test_shipment_is_refused_when_its_form_was_filed_with_other_contents(mass, fields, field):
    cylinder, once = supply_cylinder("10 lb"), uuid4()
    first = ship(cylinder, "4 lb", submission_id=once)

    assert refused(ship, cylinder, mass, submission_id=once, **fields).keys() == {field}
    assert ship(cylinder, "4 lb", submission_id=once) == first


def test_form_filed_for_one_cylinder_is_not_filed_for_another():
    once = uuid4()
    first = purchase(CylinderFactory(), "5 lb", submission_id=once)

    refusals = refused(purchase, CylinderFactory(), "5 lb", submission_id=once)

    assert first.cylinder.serial_number in refusals["submission_id"].expected


@pytest.mark.parametrize("records", [ServiceEvent, StockMovement])
def test_what_the_database_refuses_of_a_new_submission_is_not_hidden(records):
    def second_account():
        return cylinder_holder(cylinder)

    cylinder = CylinderFactory()

    with pytest.raises(IntegrityError):
        file_once(records, uuid4(), second_account)


def test_balances_can_be_asked_for_a_day():
    cylinder = supply_cylinder("10 lb")
    ship(cylinder, "4 lb")
    holder = cylinder.holder.pk

    assert holder_balances(on=datetime.date(2026, 3, 1))[holder, "R-410A"] == entered("10 lb").mass_mg
    assert sum(holder_balances().values()) == 0
