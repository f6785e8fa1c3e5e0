"""The pages on which a mistaken leak rate method of the register is put right, and such a record taken back."""

import uuid

import pytest
from django.urls import reverse

from jobs.models import LeakRateMethodCorrection
from tests.compliance.facility_records.acts import CORRECTED_AT as FILED_AT
from tests.compliance.facility_records.acts import CORRECTION as ENTRY
from tests.compliance.facility_records.acts import correct
from tests.compliance.firm import add_appliance, add_site, file

pytestmark = pytest.mark.django_db


@pytest.fixture
def store(mistaken_store):
    return mistaken_store


@pytest.fixture(autouse=True)
def _today(time_machine):
    time_machine.move_to(FILED_AT)


@pytest.fixture
def desk(client, officer):
    client.force_login(officer)
    return client


def _boxes(**changes):
    boxes = {name: getattr(ENTRY, name) for name in ("method", "mistake", "shown_by")}
    return {**boxes, "is_mistake": "on", "submission_id": str(uuid.uuid4()), **changes}


def test_the_officer_files_it_from_the_sites_page(desk, store):
    page = desk.get(reverse("site-detail", args=[store.pk])).text
    address = reverse("method-correction-add", args=[store.pk])
    assert address in page

    form = desk.get(address).text
    assert "For a mistaken entry in the register only" in form
    assert "the register names: annualizing method" in form
    assert reverse("method-change-add", args=[store.pk]) in form
    text = desk.post(address, _boxes(), follow=True).text

    for words in ("Rolling average method, from the beginning", "12.17 % on 2026-06-02", ENTRY.mistake):
        assert words in text
    page = desk.get(reverse("site-detail", args=[store.pk])).text
    assert "Rolling average method, for all appliances" in page
    assert "corrected the register, which named the annualizing method" in page
    assert address not in page


def test_a_refusal_stands_at_its_field(desk, store):
    boxes = _boxes()
    del boxes["is_mistake"]

    response = desk.post(reverse("method-correction-add", args=[store.pk]), boxes)

    assert set(response.context["form"].errors) == {"is_mistake"}
    assert "40 CFR 84.106(b)(3)" in response.text


def test_it_is_amended_and_withdrawn(desk, officer, store):
    correction = correct(officer, store)
    boxes = _boxes(shown_by="Another sheet", reason="The other was lost")
    amended = desk.post(reverse("method-correction-amend", args=[correction.pk]), boxes, follow=True).text
    assert "Another sheet" in amended
    assert "The other was lost" in amended

    newest = LeakRateMethodCorrection.objects.latest("pk")
    address = reverse("method-correction-withdraw", args=[newest.pk])
    assert "The register names that method again" in desk.get(address).text
    text = desk.post(
        address, {"reason": "It was right", "submission_id": str(uuid.uuid4())}, follow=True
    ).text
    assert "counts no more" in text
    assert "Annualizing method, for all" in desk.get(reverse("site-detail", args=[store.pk])).text


def test_the_office_and_technicians_read_it_and_file_none(client, admin, officer, technician_user, store):
    correction = correct(officer, store)

    for user in (admin, technician_user):
        client.force_login(user)
        assert str(correction) in client.get(reverse("site-detail", args=[store.pk])).text
        assert client.get(reverse("method-correction-detail", args=[correction.pk])).status_code == 200
        for act, pk in (("add", store.pk), ("amend", correction.pk), ("withdraw", correction.pk)):
            address = reverse(f"method-correction-{act}", args=[pk])
            assert client.get(address).status_code == 403
            assert client.post(address, _boxes(reason="Why")).status_code == 403
    assert LeakRateMethodCorrection.objects.count() == 1


def test_its_pages_take_no_more_queries_for_more_appliances(
    desk, admin, officer, store, django_assert_num_queries
):
    other = add_site(admin, store.customer, "Large store")
    for number in range(10, 20):
        add_appliance(admin, f"Chiller {number}", site=other)
    file(admin, other.appliances.first(), "2026-02-02", added=[("2", None)])

    for site in (store, other):
        with django_assert_num_queries(6):
            desk.get(reverse("method-correction-add", args=[site.pk]))
        correction = correct(officer, site)
        with django_assert_num_queries(8):
            desk.get(reverse("method-correction-detail", args=[correction.pk]))
