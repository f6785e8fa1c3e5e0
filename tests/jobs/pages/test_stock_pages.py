"""Purchases and shipments of a cylinder's contents."""

import uuid

import pytest
import time_machine
from django.test import Client
from django.urls import reverse

from jobs.models import StockMovement, StockMovementKind
from jobs.selectors.ledger import cylinder_contents
from tests.factories import CylinderFactory, entered, supply_cylinder

pytestmark = pytest.mark.django_db


def purchase(**changes: str) -> dict[str, str]:
    return {
        "submission_id": str(uuid.uuid4()),
        "supplier_name": "Harbor Gas",
        "refrigerant": "R-410A",
        "mass_value": "25",
        "mass_ounces": "",
        "mass_unit": "lb",
        "supply_status": "virgin",
        "happened_on": "2026-01-05",
        "document_number": "INV-0071",
        "note": "",
        **changes,
    }


def shipment(**changes: str) -> dict[str, str]:
    return {
        "submission_id": str(uuid.uuid4()),
        "extent": "all",
        "mass_value": "",
        "mass_ounces": "",
        "mass_unit": "lb",
        "destination_kind": "reclaimer",
        "destination_name": "Tern Reclaim",
        "happened_on": "2026-03-05",
        "document_number": "BOL-9",
        "note": "",
        **changes,
    }


def test_a_purchase_is_filed_and_shown(admin: Client) -> None:
    cylinder = CylinderFactory(kind="refillable", refrigerant="R-410A")

    response = admin.post(reverse("purchase-add", args=[cylinder.pk]), purchase(), follow=True)

    html = response.content.decode()
    assert cylinder_contents(cylinder) == {"R-410A": entered("25 lb").mass_mg}
    assert "Filed: Bought from a supplier on 2026-01-05." in html
    assert "no. INV-0071" in html


# Source: Regulation (EU) 2024/573, Art. 7(1)(d): name, address and certificate number of the facility.
@pytest.mark.parametrize("status", ["reclaimed", "recycled"])
def test_a_purchase_keeps_where_the_refrigerant_was_made_fit_again(admin: Client, status: str) -> None:
    cylinder = CylinderFactory(kind="refillable", refrigerant="R-410A")
    of_facility = {"facility": "Tallow Quay Reclaim, 3 Tallow Quay, Cork", "facility_certificate": "EU-R-12"}

    admin.post(reverse("purchase-add", args=[cylinder.pk]), purchase(supply_status=status, **of_facility))

    movement = cylinder.stock_movements.get()
    assert {name: movement.canonical()[name] for name in of_facility} == of_facility
    life = admin.get(reverse("cylinder-detail", args=[cylinder.pk])).text
    assert f">{status.capitalize()}</span>" in life
    assert "by Tallow Quay Reclaim, 3 Tallow Quay, Cork, certificate no. EU-R-12" in life


def test_a_purchase_sent_twice_is_filed_once(admin: Client) -> None:
    cylinder = CylinderFactory(kind="refillable", refrigerant="R-410A")
    sent = purchase(mass_value="5")

    for _ in range(2):
        response = admin.post(reverse("purchase-add", args=[cylinder.pk]), sent)

    assert response.status_code == 302
    assert cylinder_contents(cylinder) == {"R-410A": entered("5 lb").mass_mg}


def test_each_purchase_form_has_a_number_of_its_own_and_today_s_date(admin: Client) -> None:
    cylinder = CylinderFactory(refrigerant="R-410A")
    page = reverse("purchase-add", args=[cylinder.pk])

    forms = [admin.get(page).context["form"] for _ in range(2)]

    assert forms[0]["submission_id"].value() != forms[1]["submission_id"].value()
    assert forms[0]["refrigerant"].value() == "R-410A"


def test_the_date_that_a_form_offers_is_the_firm_s(admin: Client) -> None:
    cylinder = CylinderFactory()

    # Two in the morning in UTC is the evening before in Chicago, where the firm is.
    with time_machine.travel("2026-11-26T02:00:00+00:00", tick=False):
        form = admin.get(reverse("purchase-add", args=[cylinder.pk])).context["form"]

    assert str(form["happened_on"].value()) == "2026-11-25"


@pytest.mark.parametrize(
    ("changes", "field", "words"),
    [
        ({"mass_value": "70"}, "mass", "70.000 lb"),
        ({"mass_value": ""}, "mass", "You gave nothing"),
        ({"refrigerant": "R-32"}, "refrigerant", "dedicated to R-410A, not R-32. You gave “R-32”"),
        ({"happened_on": "2999-01-01"}, "happened_on", "2999-01-01"),
        ({"happened_on": "yesterday"}, "happened_on", "You gave “yesterday”"),
        ({"supplier_name": "  "}, "supplier_name", "You gave nothing"),
    ],
)
def test_a_purchase_is_refused_at_the_field(
    changes: dict[str, str], field: str, words: str, admin: Client
) -> None:
    cylinder = CylinderFactory(kind="refillable", refrigerant="R-410A", water_capacity="30 lb")

    response = admin.post(reverse("purchase-add", args=[cylinder.pk]), purchase(**changes))

    assert words in response.context["form"].errors[field][0]
    assert not StockMovement.objects.exists()


def test_a_supplier_named_before_is_suggested(admin: Client) -> None:
    supply_cylinder()
    cylinder = CylinderFactory()

    html = admin.get(reverse("purchase-add", args=[cylinder.pk])).content.decode()

    assert '<option value="Harbor Gas">Supplier</option>' in html


def test_all_contents_are_shipped_to_a_reclaimer(admin: Client) -> None:
    cylinder = supply_cylinder("25 lb")

    admin.post(reverse("shipment-add", args=[cylinder.pk]), shipment())

    movement = StockMovement.objects.latest("pk")
    assert movement.kind == StockMovementKind.RECLAMATION
    assert movement.transfers.get().to_holder.name == "Tern Reclaim"
    assert cylinder_contents(cylinder) == {}


def test_a_part_is_shipped_for_destruction(admin: Client) -> None:
    cylinder = supply_cylinder("25 lb")

    admin.post(
        reverse("shipment-add", args=[cylinder.pk]),
        shipment(extent="part", mass_value="10", destination_kind="destruction_facility"),
    )

    assert StockMovement.objects.latest("pk").kind == StockMovementKind.DESTRUCTION
    assert cylinder_contents(cylinder) == {"R-410A": entered("25 lb").mass_mg - entered("10 lb").mass_mg}


@pytest.mark.parametrize(
    ("changes", "field", "words"),
    [
        ({"extent": "part"}, "mass", "Expected the mass of the part"),
        ({"extent": "all", "mass_value": "3"}, "mass", "You gave “3 lb”"),
        ({"extent": "part", "mass_value": "80"}, "mass", "25.000 lb"),
        ({"destination_name": ""}, "destination_name", "You gave nothing"),
        ({"destination_kind": "landfill"}, "destination_kind", "landfill"),
        ({"happened_on": "2024-12-31"}, "happened_on", "holds nothing on that day"),
    ],
)
def test_a_shipment_is_refused_at_the_field(
    changes: dict[str, str], field: str, words: str, admin: Client
) -> None:
    cylinder = supply_cylinder("25 lb")

    response = admin.post(reverse("shipment-add", args=[cylinder.pk]), shipment(**changes))

    assert words in response.context["form"].errors[field][0]
    assert StockMovement.objects.count() == 1


def test_a_shipment_is_offered_only_while_the_cylinder_holds_something(admin: Client) -> None:
    full, empty = supply_cylinder(), CylinderFactory()

    pages = [admin.get(reverse("cylinder-detail", args=[row.pk])).content.decode() for row in (full, empty)]

    assert reverse("shipment-add", args=[full.pk]) in pages[0]
    assert reverse("shipment-add", args=[empty.pk]) not in pages[1]


def test_the_page_ships_the_cylinder_and_lets_it_come_back(admin: Client) -> None:
    cylinder = supply_cylinder("25 lb")
    form = admin.get(reverse("shipment-add", args=[cylinder.pk])).context["form"]
    assert form["extent"].value() == "along"

    sent = shipment(extent="along", moved_by="Brightwater Freight")
    html = admin.post(reverse("shipment-add", args=[cylinder.pk]), sent, follow=True).content.decode()

    assert "From Shop to Tern Reclaim, by Brightwater Freight. Sent away with its contents." in html
    assert "Came back</a>" in html
    back = admin.get(reverse("cylinder-move-add", args=[cylinder.pk])).context["form"]
    assert (back["place"].value(), back["reason"].value()) == ("shop", "came_back")


def test_the_page_refuses_a_cylinder_that_nobody_took(admin: Client) -> None:
    sent = shipment(extent="along", moved_by=" ")

    response = admin.post(reverse("shipment-add", args=[supply_cylinder().pk]), sent)

    assert "Expected who takes the cylinder there" in response.context["form"].errors["moved_by"][0]
