"""The page of what runs out: its lines, filters, pages and empty states, and the forms that it leads to."""

import pytest
from django.urls import reverse

from jobs.models import Certification
from tests.compliance.firm import day, noon
from tests.compliance.running_out import apprentice, calibrated_scale, certificate
from tests.factories import CertificationFactory, CylinderFactory, TechnicianFactory

pytestmark = pytest.mark.django_db

LIST = "/board/running-out/"


@pytest.fixture(autouse=True)
def _first_of_june(time_machine):
    time_machine.move_to(noon(day("2026-06-01")))


def _listed(client, **query):
    response = client.get(LIST, query)
    return [row.expiry.kind.value for row in response.context["rows"]]


@pytest.fixture
def four(db):
    certificate("2026-08-01", technician=TechnicianFactory(certified=False, full_name="Ada Quill"))
    apprentice("2024-06-15")
    CylinderFactory(requalified_on=day("2021-05-20"))
    calibrated_scale("2026-07-01")


def test_the_page_shows_day_reason_paragraph_and_form(client, admin, four):
    client.force_login(admin)

    text = client.get(LIST).text

    assert "Ran out 1 day ago" in text
    assert "Runs out in 30 days" in text
    assert "40 CFR 82.161(a)" in text
    assert "4 in all, 1 of them run out already" in text
    for form in ("/renew/", "/certifications/add/", "/requalification-tests/add/", "/calibrations/add/"):
        assert form in text


def test_who_may_not_file_is_told_what_settles_it(client, technician_user, four):
    client.force_login(technician_user)

    text = client.get(LIST).text

    assert "/renew/" not in text
    assert "A filed requalification test" in text


@pytest.mark.parametrize(
    ("query", "kinds"),
    [
        ({"kind": "calibration"}, ["calibration"]),
        ({"within": "0"}, ["requalification"]),
        ({"within": "30"}, ["requalification", "apprenticeship", "calibration"]),
        ({"q": "quill A1"}, ["certificate"]),
        ({"q": "nothing"}, []),
        ({"within": "x"}, ["requalification", "apprenticeship", "calibration", "certificate"]),
    ],
)
def test_the_filter_narrows(client, officer, four, query, kinds):
    client.force_login(officer)

    assert _listed(client, **query) == kinds


def test_a_long_list_is_paged(client, officer):
    for _ in range(26):
        certificate()
    client.force_login(officer)

    assert len(_listed(client)) == 25
    assert len(_listed(client, page=2)) == 1


def test_an_empty_list_says_what_it_would_hold(client, officer):
    client.force_login(officer)

    assert "Nothing runs out" in client.get(LIST).text
    assert "Nothing matches" in client.get(LIST, {"q": "x"}).text


def test_a_stranger_is_refused(client, stranger):
    client.force_login(stranger)

    assert client.get(LIST).status_code == 403


def test_the_board_leads_there(client, officer):
    client.force_login(officer)

    assert f'href="{reverse("expiry-list")}"' in client.get("/board/").text


def test_a_certificate_is_renewed_and_its_page_shows_until_when(client, admin):
    row = certificate("2026-08-01")
    client.force_login(admin)
    address = reverse("certification-renew", args=[row.pk])
    renewed = {"expires_on": "2031-05-30", "refreshed_on": "2026-05-30", "ended_on": "", "ended_because": ""}

    text = client.post(address, renewed, follow=True).text

    assert "2031-05-30" in text
    assert Certification.objects.get().refreshed_on == day("2026-05-30")


@pytest.mark.parametrize(
    ("kind", "typed", "fields"),
    [
        ("eu_a1", {"ended_on": "2026-05-30"}, {"ended_because"}),
        ("eu_a1", {"ended_because": "Revoked"}, {"ended_on"}),
        ("eu_a1", {"ended_on": "2026-06-02", "ended_because": "Revoked"}, {"ended_on"}),
        ("eu_a1", {"refreshed_on": "2026-06-02"}, {"refreshed_on"}),
        ("eu_a1", {"expires_on": "2024-06-02"}, {"expires_on"}),
        # 40 CFR 82.161: a certificate of section 608 has no last day.
        (
            "universal",
            {"expires_on": "2031-05-30", "refreshed_on": "2026-05-30"},
            {"expires_on", "refreshed_on"},
        ),
    ],
)
def test_a_renewal_is_refused_at_its_fields(client, admin, kind, typed, fields):
    row = CertificationFactory(type=kind, issued_on=day("2024-06-03"))
    client.force_login(admin)

    response = client.post(reverse("certification-renew", args=[row.pk]), typed)

    assert set(response.context["form"].errors) == fields
    row.refresh_from_db()
    assert (row.expires_on, row.refreshed_on, row.ended_on) == (None, None, None)


def test_a_technician_may_not_renew(client, technician_user):
    client.force_login(technician_user)

    assert client.get(reverse("certification-renew", args=[certificate().pk])).status_code == 403
