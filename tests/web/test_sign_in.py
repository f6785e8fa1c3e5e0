"""Signing in, being locked out, signing out, and one's own password."""

import pytest
import time_machine
from django.conf import settings
from django.test import Client
from django.urls import reverse

from portal.accounts.models import User
from tests import people

pytestmark = pytest.mark.django_db

PASSWORD = "correct horse battery"
NEW_PASSWORD = "kettle orchard lantern 7"


def sign_in(client: Client, email: str, password: str = PASSWORD, **extra: str):
    return client.post(reverse("sign-in"), {"username": email, "password": password, **extra})


@pytest.mark.parametrize("email", ["odile.marchetti@example.org", " Odile.Marchetti@Example.ORG "])
def test_a_person_signs_in_by_e_mail_address_in_any_case(email: str, client: Client) -> None:
    people.office_admin()

    response = sign_in(client, email)

    assert response.url == reverse("home")


def test_a_wrong_password_is_refused_without_saying_which_part_was_wrong(client: Client) -> None:
    user = people.office_admin()

    wrong_password = sign_in(client, user.email, "nonsense")
    wrong_address = sign_in(client, "nobody@example.org")

    texts = [response.context["form"].non_field_errors() for response in (wrong_password, wrong_address)]
    assert texts[0] == texts[1]
    assert "No account has this e-mail address and password." in texts[0][0]


def test_signing_in_leads_to_the_page_that_was_asked_for_but_never_to_another_host(client: Client) -> None:
    user = people.office_admin()

    asked = sign_in(client, user.email, next="/cylinders/")
    client.post(reverse("sign-out"))
    elsewhere = sign_in(client, user.email, next="https://elsewhere.example/")

    assert asked.url == "/cylinders/"
    assert elsewhere.url == reverse("home")


def test_too_many_wrong_passwords_close_the_door_for_a_quarter_of_an_hour(client: Client) -> None:
    user = people.office_admin()

    with time_machine.travel("2026-11-25T12:00:00+00:00", tick=False) as clock:
        for _ in range(settings.AXES_FAILURE_LIMIT):
            response = sign_in(client, user.email, "nonsense")
        locked = sign_in(client, user.email)
        clock.shift(15 * 60 + 1)
        opened = sign_in(client, user.email)

    assert response.status_code == 429
    assert "Sign-in is closed for a quarter of an hour" in response.content.decode()
    assert locked.status_code == 429
    assert opened.status_code == 302


def test_a_lock_out_closes_one_e_mail_address_and_not_the_others(client: Client) -> None:
    locked, other = people.office_admin(), people.officer()

    for _ in range(settings.AXES_FAILURE_LIMIT):
        sign_in(client, locked.email, "nonsense")

    assert sign_in(client, other.email).status_code == 302


def test_a_person_signs_out_by_post_alone(client: Client) -> None:
    client.force_login(people.office_admin())

    by_link = client.get(reverse("sign-out"))
    by_form = client.post(reverse("sign-out"))

    assert by_link.status_code == 405
    assert by_form.url == reverse("sign-in")
    assert client.get(reverse("customer-list")).status_code == 302


def test_a_closed_account_does_not_open(client: Client) -> None:
    user = people.office_admin()
    User.objects.filter(pk=user.pk).update(is_active=False)

    assert sign_in(client, user.email).status_code == 200


def test_a_fragment_asked_for_after_the_session_ended_reloads_the_page(client: Client) -> None:
    response = client.get(reverse("customer-list"), headers={"HX-Request": "true"}, follow=True)

    assert response["HX-Refresh"] == "true"


def change_password(client: Client, old: str, new: str):
    fields = {"old_password": old, "new_password1": new, "new_password2": new}
    return client.post(reverse("password-change"), fields)


def test_a_person_changes_the_own_password(client: Client) -> None:
    user = people.technician_user()
    client.force_login(user)

    response = change_password(client, PASSWORD, NEW_PASSWORD)

    user.refresh_from_db()
    assert response.url == reverse("home")
    assert user.check_password(NEW_PASSWORD)


@pytest.mark.parametrize(
    ("old", "new", "field"),
    [
        ("wrong", NEW_PASSWORD, "old_password"),
        (PASSWORD, "short", "new_password2"),
        (PASSWORD, "12345678901", "new_password2"),
    ],
)
def test_a_weak_or_unproven_new_password_is_refused(old: str, new: str, field: str, client: Client) -> None:
    user = people.technician_user()
    client.force_login(user)

    response = change_password(client, old, new)

    assert list(response.context["form"].errors) == [field]
    user.refresh_from_db()
    assert user.check_password(PASSWORD)


def test_a_one_time_password_opens_nothing_but_choosing_another(client: Client) -> None:
    user = people.technician_user()
    user.has_one_time_password = True
    user.save()
    sign_in(client, user.email)

    before = client.get(reverse("cylinder-list"))
    change_password(client, PASSWORD, NEW_PASSWORD)
    after = client.get(reverse("cylinder-list"))

    assert before.url == reverse("password-change")
    assert after.status_code == 200
