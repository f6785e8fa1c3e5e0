"""Which role opens which page of the registers."""

import re
from http import HTTPStatus

import pytest
from django.test import Client
from django.urls import reverse

from portal.accounts.models import User
from tests import people
from tests.factories import (
    ApplianceFactory,
    RecoveryMachineFactory,
    ScaleFactory,
    SiteFactory,
    TechnicianFactory,
    supply_cylinder,
)
from tests.jobs.cylinder_acts import receive, weigh
from tests.jobs.test_transfer_refusals import ship

pytestmark = pytest.mark.django_db

READ = ("office_admin", "technician", "officer")
WRITE = ("office_admin",)
DECIDE = ("officer",)
OFFICE = ("office_admin", "officer")
PAGES = {
    "customer-list": READ,
    "customer-detail": READ,
    "site-detail": READ,
    "appliance-list": READ,
    "technician-list": READ,
    "technician-detail": READ,
    "cylinder-list": READ,
    "cylinder-detail": READ,
    "instrument-list": READ,
    "instrument-detail": READ,
    "recovery-machine-list": READ,
    "recovery-machine-detail": READ,
    "refrigerant-cautions": READ,
    "customer-add": WRITE,
    "customer-change": WRITE,
    "site-add": WRITE,
    "site-change": WRITE,
    "appliance-add": WRITE,
    "appliance-change": WRITE,
    "technician-add": WRITE,
    "technician-change": WRITE,
    "certification-add": WRITE,
    "technician-sign-in": WRITE,
    "cylinder-add": WRITE,
    "cylinder-change": WRITE,
    "instrument-add": WRITE,
    "instrument-change": WRITE,
    "calibration-add": WRITE,
    "recovery-machine-add": WRITE,
    "recovery-machine-change": WRITE,
    "purchase-add": WRITE,
    "shipment-add": WRITE,
    "sale-add": WRITE,
    "cylinder-move-add": READ,
    "cylinder-weighing-add": READ,
    "contamination-add": READ,
    "heel-removal-add": READ,
    "requalification-period-add": DECIDE,
    "requalification-test-add": OFFICE,
    "shipment-receipt-add": OFFICE,
    "stock-reverse": OFFICE,
    "withdrawal-add": OFFICE,
    "stock-adjust": DECIDE,
    "receipt-difference-add": DECIDE,
    "reconciliation": OFFICE,
    "stock-list": OFFICE,
}
MAKERS = {
    "office_admin": people.office_admin,
    "technician": people.technician_user,
    "officer": people.officer,
    "stranger": people.stranger,
}


@pytest.fixture
def paths() -> dict[str, str]:
    site, cylinder = SiteFactory(), supply_cylinder()
    weighing = weigh(cylinder, "53 lb")
    rows = {
        "customer": site.customer.pk,
        "site": site.pk,
        "appliance": ApplianceFactory(site=site).pk,
        "technician": TechnicianFactory().pk,
        "instrument": ScaleFactory().pk,
        "recovery-machine": RecoveryMachineFactory().pk,
        "cylinder": cylinder.pk,
        "movement": cylinder.stock_movements.get().pk,
        "weighing": weighing.pk,
        "receipt": receive(ship(supply_cylinder("25 lb")), "24 lb").pk,
    }
    owners = {
        "site-add": "customer",
        "appliance-add": "site",
        "certification-add": "technician",
        "technician-sign-in": "technician",
        "calibration-add": "instrument",
        "purchase-add": "cylinder",
        "shipment-add": "cylinder",
        "sale-add": "cylinder",
        "cylinder-move-add": "cylinder",
        "cylinder-weighing-add": "cylinder",
        "contamination-add": "cylinder",
        "heel-removal-add": "cylinder",
        "requalification-period-add": "cylinder",
        "requalification-test-add": "cylinder",
        "shipment-receipt-add": "movement",
        "stock-reverse": "movement",
        "stock-adjust": "weighing",
        "receipt-difference-add": "receipt",
    }
    found = {}
    for name in PAGES:
        thing, _, verb = name.rpartition("-")
        if name in owners:
            found[name] = reverse(name, args=[rows[owners[name]]])
        elif name == "withdrawal-add":
            found[name] = reverse(name, args=[weighing.RECORD_KIND, weighing.pk])
        elif verb in ("detail", "change"):
            found[name] = reverse(name, args=[rows[thing]])
        else:
            found[name] = reverse(name)
    return found


def statuses(user: User | None, paths: dict[str, str]) -> dict[str, int]:
    client = Client()
    if user:
        client.force_login(user)
    return {name: client.get(path).status_code for name, path in paths.items()}


@pytest.mark.parametrize("person", MAKERS)
def test_a_page_opens_to_the_roles_that_may_and_to_nobody_else(person: str, paths: dict[str, str]) -> None:
    found = statuses(MAKERS[person](), paths)

    assert found == {name: 200 if person in roles else 403 for name, roles in PAGES.items()}


def test_a_page_sends_who_is_not_signed_in_to_sign_in(paths: dict[str, str]) -> None:
    client = Client()

    for path in paths.values():
        response = client.get(path)
        assert response.status_code == 302
        assert response.url == f"{reverse('sign-in')}?next={path}"


@pytest.mark.parametrize("person", ["technician", "officer", "stranger"])
def test_a_form_takes_nothing_from_who_may_not(person: str, paths: dict[str, str]) -> None:
    client = Client()
    client.force_login(MAKERS[person]())
    forms = [path for name, path in paths.items() if person not in PAGES[name]]

    assert {client.post(path, {"name": "Intruder"}).status_code for path in forms} == {403}


@pytest.mark.parametrize("person", ["technician", "officer"])
def test_a_reader_sees_no_button_that_would_be_refused(person: str, paths: dict[str, str]) -> None:
    cylinder = supply_cylinder()
    client = Client()
    client.force_login(MAKERS[person]())
    pages = [path for name, path in paths.items() if person in PAGES[name]]

    for page in [*pages, reverse("cylinder-detail", args=[cylinder.pk])]:
        html = client.get(page).content.decode()
        linked = set(re.findall(r'href="(/[^"#?]*(?:/add/|/change/|/reverse/|/adjust/|/withdraw/))', html))
        refused = [link for link in linked if client.get(link).status_code != HTTPStatus.OK]
        assert refused == []
