"""The registers' lists: searching, paging, what an empty one says, and how many queries each takes."""

from collections.abc import Callable
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from portal.web.views import PAGE_SIZE
from tests.factories import (
    ApplianceFactory,
    CertificationFactory,
    CustomerFactory,
    CylinderFactory,
    SiteFactory,
    TechnicianFactory,
    file_event,
    supply_cylinder,
)

pytestmark = pytest.mark.django_db

# Session, user, the permissions of the user and of the roles, the roles; the count of rows and the rows; certificates.
FRAME_QUERIES = 5
LIST_QUERIES = {"customer-list": 2, "appliance-list": 2, "technician-list": 3, "cylinder-list": 4}


def make_rows(count: int) -> None:
    for number in range(count):
        site = SiteFactory()
        ApplianceFactory(site=site)
        ApplianceFactory(site=site)
        technician = TechnicianFactory()
        CertificationFactory(technician=technician, number=f"second-{number}")
        supply_cylinder()


@pytest.mark.parametrize("name", LIST_QUERIES)
def test_a_list_takes_as_many_queries_for_many_rows_as_for_few(
    name: str, admin: Client, django_assert_num_queries: Callable[..., Any]
) -> None:
    make_rows(8)

    with django_assert_num_queries(FRAME_QUERIES + LIST_QUERIES[name]):
        response = admin.get(reverse(name))

    assert len(response.context["object_list"]) >= 8


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("customer-list", "Start with a customer"),
        ("appliance-list", "An appliance is added on its site"),
        ("technician-list", "Add each person who handles refrigerant"),
        ("cylinder-list", "Add each cylinder that refrigerant travels in"),
    ],
)
def test_an_empty_list_says_what_to_do_next(name: str, words: str, admin: Client, officer: Client) -> None:
    assert words in admin.get(reverse(name)).content.decode()
    assert words not in officer.get(reverse(name)).content.decode()


@pytest.mark.parametrize("name", LIST_QUERIES)
def test_a_search_without_a_match_names_what_was_searched(name: str, admin: Client) -> None:
    html = admin.get(reverse(name), {"q": "<zebra>"}).content.decode()

    assert "matches “&lt;zebra&gt;”" in html
    assert "Show all" in html


def test_a_list_keeps_the_search_from_page_to_page(admin: Client) -> None:
    for number in range(PAGE_SIZE + 1):
        CustomerFactory(name=f"Larch & Sons {number:02}")
    CustomerFactory(name="Birch Bakery")

    first = admin.get(reverse("customer-list"), {"q": "larch & sons"})
    second = admin.get(reverse("customer-list"), {"q": "larch & sons", "page": 2})

    assert 'href="?q=larch+%26+sons&amp;page=2"' in first.content.decode()
    assert [customer.name for customer in second.context["customers"]] == [f"Larch & Sons {PAGE_SIZE:02}"]
    assert "1–25 of 26" in first.content.decode()
    assert "Birch" not in second.content.decode()


def test_a_page_beyond_the_last_is_not_found(admin: Client) -> None:
    CustomerFactory()

    assert admin.get(reverse("customer-list"), {"page": 7}).status_code == 404


def test_the_customer_list_counts_sites_and_appliances(admin: Client) -> None:
    site = SiteFactory()
    SiteFactory(customer=site.customer)
    for _ in range(3):
        ApplianceFactory(site=site)

    html = admin.get(reverse("customer-list")).content.decode()

    assert 'data-label="Sites" class="number">2<' in html
    assert 'data-label="Appliances" class="number">3<' in html


def test_the_appliance_list_shows_charge_and_last_visit(admin: Client) -> None:
    appliance = ApplianceFactory(full_charge="200 lb")
    file_event(appliance)

    html = admin.get(reverse("appliance-list")).content.decode()

    assert "200.000\u00a0lb" in html
    assert "2026-03-02" in html


def test_the_cylinder_list_shows_contents_and_a_test_that_is_overdue(admin: Client) -> None:
    supply_cylinder("25 lb", requalified_on="2001-04-01")
    CylinderFactory(requalified_on=None)

    html = admin.get(reverse("cylinder-list")).content.decode()

    assert "25.000\u00a0lb" in html
    assert '<span class="status status-overdue">Test overdue</span>' in html
    assert "2006-04-30" in html
    assert "no test date" in html
