"""Technicians, their certificates, and the sign-in that the office gives them."""

import pytest
from django.test import Client
from django.urls import reverse

from jobs.models import CertificationType, Technician
from portal.accounts.models import Role, User
from tests import people
from tests.factories import TechnicianFactory

pytestmark = pytest.mark.django_db

TECHNICIAN = {"full_name": "Ines Varga", "phone": "555-0133", "is_active": "on"}
CERTIFICATE = {
    "type": CertificationType.TYPE_II.value,
    "number": "II-40017",
    "issuer": "Prairie Trades Examining Board",
    "issued_on": "2017-09-02",
}


def one_time_password(html: str) -> str:
    return html.partition('<code class="one-time">')[2].partition("</code>")[0]


def test_a_technician_is_added_and_the_page_asks_for_certificates(admin: Client) -> None:
    response = admin.post(reverse("technician-add"), TECHNICIAN, follow=True)

    technician = Technician.objects.get()
    html = response.content.decode()
    assert technician.phone == "555-0133"
    assert "Without one, service events of this person are refused (40 CFR 82.161)" in html
    assert reverse("certification-add", args=[technician.pk]) in html


@pytest.mark.parametrize(
    ("changes", "field", "words"),
    [
        ({"full_name": ""}, "full_name", "You gave nothing"),
        ({"apprentice_registered_on": "soon"}, "apprentice_registered_on", "You gave “soon”"),
    ],
)
def test_a_technician_is_refused_at_the_field(
    changes: dict[str, str], field: str, words: str, admin: Client
) -> None:
    response = admin.post(reverse("technician-add"), {**TECHNICIAN, **changes})

    assert words in response.context["form"].errors[field][0]
    assert not Technician.objects.exists()


def test_an_apprentice_without_a_date_of_registration_is_refused(admin: Client) -> None:
    response = admin.post(reverse("technician-add"), {**TECHNICIAN, "is_apprentice": "on"})

    assert "An apprentice needs the date of registration." in response.content.decode()
    assert not Technician.objects.exists()


def test_a_certificate_is_added_and_shown(admin: Client) -> None:
    technician = TechnicianFactory(certified=False)

    response = admin.post(reverse("certification-add", args=[technician.pk]), CERTIFICATE, follow=True)

    html = response.content.decode()
    assert "Type II" in html
    assert "II-40017" in html
    assert "2017-09-02" in html


@pytest.mark.parametrize(
    ("changes", "field"),
    [({"issued_on": "2999-01-01"}, "issued_on"), ({"type": "type_ix"}, "type"), ({"number": ""}, "number")],
)
def test_a_certificate_is_refused_at_the_field(changes: dict[str, str], field: str, admin: Client) -> None:
    technician = TechnicianFactory(certified=False)

    response = admin.post(reverse("certification-add", args=[technician.pk]), {**CERTIFICATE, **changes})

    assert list(response.context["form"].errors) == [field]
    assert not technician.certifications.exists()


def test_the_office_gives_a_sign_in_with_a_password_shown_once(admin: Client) -> None:
    technician = TechnicianFactory(full_name="Ines Varga")
    page = reverse("technician-sign-in", args=[technician.pk])

    response = admin.post(page, {"email": "Ines@Example.org"})

    technician.refresh_from_db()
    password = one_time_password(response.content.decode())
    assert technician.user.email == "ines@example.org"
    assert technician.user.role_names == {Role.TECHNICIAN}
    assert technician.user.check_password(password)
    assert "no-store" in response["Cache-Control"]
    assert password not in admin.get(reverse("technician-detail", args=[technician.pk])).content.decode()


@pytest.mark.parametrize("email", ["", "ines", "odile.marchetti@example.org", "ODILE.marchetti@example.org"])
def test_an_e_mail_address_that_is_none_or_taken_gives_no_sign_in(email: str, admin: Client) -> None:
    technician = TechnicianFactory()

    response = admin.post(reverse("technician-sign-in", args=[technician.pk]), {"email": email})

    technician.refresh_from_db()
    assert response.context["form"].errors["email"]
    assert technician.user is None
    assert User.objects.count() == 1


def test_a_new_password_ends_the_former_one(admin: Client) -> None:
    technician = TechnicianFactory(user=people.technician_user())
    page = reverse("technician-sign-in", args=[technician.pk])

    asked = admin.get(page)
    response = admin.post(page)

    user = User.objects.get(pk=technician.user.pk)
    assert "signs in as" in asked.content.decode()
    assert user.check_password(one_time_password(response.content.decode()))
    assert not user.check_password("correct horse battery")
    assert user.has_one_time_password


@pytest.mark.parametrize("power", ["further role", "superuser"])
def test_the_office_opens_no_sign_in_of_someone_with_more_power(power: str, admin: Client) -> None:
    user = people.officer() if power == "further role" else people.technician_user()
    user.is_superuser = power == "superuser"
    user.save()
    technician = TechnicianFactory(user=user)

    response = admin.post(reverse("technician-sign-in", args=[technician.pk]))
    page = admin.get(reverse("technician-detail", args=[technician.pk])).content.decode()

    user.refresh_from_db()
    assert response.status_code == 403
    assert user.check_password("correct horse battery")
    assert "Give a new password" not in page


def test_a_technician_who_leaves_can_no_longer_sign_in_and_one_who_returns_can(admin: Client) -> None:
    technician = TechnicianFactory(user=people.technician_user())
    page = reverse("technician-change", args=[technician.pk])
    entered = {"username": technician.user.email, "password": "correct horse battery"}

    admin.post(page, {**TECHNICIAN, "is_active": ""})
    after_leaving = Client().post(reverse("sign-in"), entered)
    admin.post(page, TECHNICIAN)
    after_returning = Client().post(reverse("sign-in"), entered)

    assert after_leaving.status_code == 200
    assert after_returning.status_code == 302


def test_marking_an_officer_as_left_does_not_close_the_officer_s_sign_in(admin: Client) -> None:
    technician = TechnicianFactory(user=people.officer())

    admin.post(reverse("technician-change", args=[technician.pk]), {**TECHNICIAN, "is_active": ""})

    technician.refresh_from_db()
    assert not technician.is_active
    assert technician.user.is_active
