"""The page frame: navigation by role, the current page, error pages, and what every page carries."""

import re

import pytest
from django.test import Client, RequestFactory, override_settings
from django.urls import reverse
from django.views.defaults import bad_request, server_error

from portal.accounts.models import User
from portal.web.context import PORTAL_NAME
from portal.web.navigation import nav_items
from tests import people

pytestmark = pytest.mark.django_db

NAVIGATION = {
    people.office_admin: (
        [
            "Board",
            "Service events",
            "Properties",
            "Forecast",
            "What if",
            "Reminders",
            "Customers",
            "Appliances",
            "Technicians",
            "Cylinders",
            "Instruments",
            "Rules",
            "Mailbox",
            "System status",
        ],
        ["Customers", "Appliances", "Technicians", "Cylinders"],
    ),
    people.technician_user: (
        [
            "File an event",
            "Board",
            "Service events",
            "Properties",
            "Forecast",
            "What if",
            "Reminders",
            "Customers",
            "Appliances",
            "Technicians",
            "Cylinders",
            "Instruments",
            "Rules",
        ],
        ["File", "Board", "Appliances", "Cylinders"],
    ),
    people.officer: (
        [
            *(
                "Board",
                "Service events",
                "Properties",
                "Forecast",
                "What if",
                "Reminders",
                "Reports",
                "Customers",
                "Appliances",
                "Technicians",
            ),
            *("Cylinders", "Instruments", "Rules", "Mailbox", "System status"),
        ],
        ["Board", "Reminders", "Reports"],
    ),
    people.stranger: ([], []),
}


def asked_by(user: User, path: str = "/"):
    request = RequestFactory().get(path)
    request.user = User.objects.get(pk=user.pk)
    return request


@pytest.mark.parametrize("maker", NAVIGATION)
def test_the_navigation_shows_what_the_role_may_open(maker) -> None:
    items = nav_items(asked_by(maker()))

    labels, tabs = NAVIGATION[maker]
    assert [item.label for item in items] == labels
    assert [item.short_label for item in items if item.is_tab] == tabs


@pytest.mark.parametrize("maker", [people.office_admin, people.technician_user, people.officer])
def test_every_page_of_the_navigation_opens(maker) -> None:
    user = maker()
    client = Client()
    client.force_login(user)

    assert {
        item.label: client.get(item.url).status_code for item in nav_items(asked_by(user))
    } == dict.fromkeys(NAVIGATION[maker][0], 200)


@pytest.mark.parametrize(
    ("path", "label"),
    [
        ("/customers/", "Customers"),
        ("/customers/7/sites/add/", "Customers"),
        ("/sites/7/", "Customers"),
        ("/cylinders/7/purchases/add/", "Cylinders"),
        ("/recovery-machines/7/", "Instruments"),
        ("/calibrations/7/correct/", "Instruments"),
        ("/events/", "Service events"),
        ("/events/add/", "File an event"),
        ("/obligations/7/", "Board"),
        ("/nowhere/", None),
    ],
)
def test_the_page_under_which_an_address_lies_is_the_current_one(path: str, label: str | None) -> None:
    user = people.technician_user()

    current = [item.label for item in nav_items(asked_by(user, path)) if item.is_current]

    assert current == ([label] if label else [])


@pytest.mark.parametrize(
    ("maker", "page"),
    [
        (people.officer, "board"),
        (people.office_admin, "customer-list"),
        (people.technician_user, "event-pick"),
    ],
)
def test_the_home_page_leads_to_the_page_of_the_role(maker, page: str) -> None:
    client = Client()
    client.force_login(maker())

    assert client.get(reverse("home")).url == reverse(page)


def test_the_home_page_tells_who_has_no_role_whom_to_ask() -> None:
    client = Client()
    client.force_login(people.stranger())

    response = client.get(reverse("home"))

    assert response.status_code == 403
    assert "Ask your office admin to give you a role" in response.content.decode()


def test_a_superuser_without_a_role_gets_somewhere(client: Client) -> None:
    client.force_login(User.objects.create_superuser("root@example.org", "x", full_name="Root"))

    assert client.get(reverse("home")).url == reverse("customer-list")


def test_every_page_carries_landmarks_a_skip_link_and_what_the_portal_is_not(client: Client) -> None:
    html = client.get(reverse("sign-in")).content.decode()

    assert '<html lang="en">' in html
    assert (
        html.index('href="#main"') < html.index("<header") < html.index('<main class="frame-main" id="main"')
    )
    assert "it gives no legal advice" in html
    assert "licensed practice" in html
    assert len(re.findall("<h1", html)) == 1


def test_no_page_carries_a_script_or_a_style_of_its_own(client: Client) -> None:
    response = client.get(reverse("sign-in"))
    html = response.content.decode()

    assert "default-src 'self'" in response["Content-Security-Policy"].split("; ")
    assert not re.findall(r"<script(?![^>]*\bsrc=)", html)
    assert not re.findall(r"<style|\sstyle=|\son[a-z]+=", html)


def test_an_unknown_address_is_answered_in_the_frame(client: Client) -> None:
    client.force_login(people.officer())

    response = client.get("/nowhere/")

    assert response.status_code == 404
    assert "There is no such page" in response.content.decode()
    assert "Main, for phones" in response.content.decode()


def test_a_page_of_another_role_says_so(client: Client) -> None:
    client.force_login(people.technician_user())

    response = client.get(reverse("customer-add"))

    assert response.status_code == 403
    assert "This page is not open to your role" in response.content.decode()


def test_a_failure_and_a_damaged_request_are_answered_without_the_frame_s_data() -> None:
    request = RequestFactory().get("/")

    failure, damaged = server_error(request), bad_request(request, ValueError())

    assert (failure.status_code, damaged.status_code) == (500, 400)
    assert PORTAL_NAME in failure.content.decode()
    assert "Nothing of what you sent is saved" in failure.content.decode()
    assert "could not be read" in damaged.content.decode()


def test_a_form_that_is_too_old_says_so() -> None:
    client = Client(enforce_csrf_checks=True)

    response = client.post(reverse("sign-in"), {"username": "a@example.org", "password": "x"})

    assert response.status_code == 403
    assert "This form is too old to be sent" in response.content.decode()


@override_settings(FIRM_NAME="Ash & Larch Refrigeration")
def test_the_frame_names_the_firm(client: Client) -> None:
    assert "Ash &amp; Larch Refrigeration" in client.get(reverse("sign-in")).content.decode()


def test_a_browser_that_shows_a_file_finds_the_mark(client: Client) -> None:
    response = client.get("/favicon.ico")

    assert response.status_code == 302
    assert response.url.endswith("mark.svg")
