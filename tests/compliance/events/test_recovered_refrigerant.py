"""The event form and the record where European law speaks of recovered refrigerant: (EU) 2024/573 Art. 7 and 8."""

import re

import pytest
from django.urls import reverse

from jobs.models import Certification, ServiceEvent, Transfer
from jobs.services.customers import site_change
from tests.compliance.events.posting import addition, removal, visit_data
from tests.factories import CertificationFactory

RETIRED = {"statements": [{"kind": "retired"}]}


@pytest.fixture
def url(scene):
    """The form of an appliance in the European Union, where the technician is certified."""
    CertificationFactory(technician=scene.technician, type="eu_a1")
    site_change(by=scene.admin, site=scene.appliance.site, jurisdiction="eu", time_zone="Europe/Berlin")
    return reverse("event-add", args=[scene.appliance.pk])


def plain(response):
    """The page's words: without its tags, which keep parts of sentences together."""
    return " ".join(re.sub(r"</?(span|cite|p)[^>]*>", "", response.content.decode()).split())


def filed_page(client):
    return plain(client.get(reverse("event-detail", args=[ServiceEvent.objects.latest("pk").pk])))


def test_the_form_says_what_is_asked_and_offers_the_statement(technician_client, url):
    page = plain(technician_client.get(url))

    for article in ("Art. 8(1), 10(1)", "Art. 8(6)", "Art. 8(1), (2)", "Art. 7(1)(g)"):
        assert article in page
    assert "It was recycled after it was recovered" in page


def test_a_category_from_memory_is_told_on_the_form_and_on_the_record(
    technician_client, officer_client, url, scene
):
    Certification.objects.filter(type="eu_a1").delete()
    CertificationFactory(technician=scene.technician, type="eu_category_iv")

    assert "doesn’t cover all work on this appliance" in plain(technician_client.get(url)).replace(
        "&#x27;", "’"
    )
    technician_client.post(url, visit_data(scene))

    page = filed_page(officer_client)
    assert "EU certificate of category IV covers leak checks alone (from memory)." in page
    assert "2015/2067" in page


def test_the_form_is_silent_of_it_in_the_united_states(technician_client, scene):
    page = plain(technician_client.get(reverse("event-add", args=[scene.appliance.pk])))

    assert "2024/573" not in page
    assert "It was recycled" not in page


def test_recovered_refrigerant_goes_back_only_as_recycled(technician_client, scene, url):
    technician_client.post(url, visit_data(scene, {"transfers": [removal(scene, "20")]}))
    back = {**addition(scene, "7"), "cylinder": scene.recovery.pk}

    refused = technician_client.post(url, visit_data(scene, {"transfers": [back]}))
    filed = technician_client.post(
        url, visit_data(scene, {"transfers": [{**back, "is_recycled": "on"}]}), follow=True
    )

    errors = {error.field_id: error.message for error in refused.context["page"].errors}
    assert "Art. 8(6)" in errors["id_transfers-0-is_recycled"]
    assert "Service, recycled" in plain(filed)
    assert Transfer.objects.get(is_recycled=True).mass_mg == 3_175_147


def test_an_amendment_keeps_the_statement(technician_client, scene, url, officer_client):
    technician_client.post(url, visit_data(scene, {"transfers": [removal(scene, "20")]}))
    back = {**addition(scene, "7"), "cylinder": scene.recovery.pk, "is_recycled": "on"}
    technician_client.post(url, visit_data(scene, {"transfers": [back]}))
    event = ServiceEvent.objects.latest("pk")

    form = officer_client.get(reverse("event-amend", args=[event.pk])).context["page"]

    assert form.formsets["transfers"].forms[0]["is_recycled"].value() is True


def test_a_retirement_without_recovery_marks_the_record_and_the_appliance(technician_client, scene, url):
    technician_client.post(url, visit_data(scene, RETIRED))

    assert "no recovery of what it held is on record" in filed_page(technician_client)
    appliance = plain(technician_client.get(reverse("appliance-detail", args=[scene.appliance.pk])))
    assert "no recovery of what it held is on record" in appliance


def test_a_retirement_with_recovery_marks_nothing(technician_client, scene, url):
    recovery = {**removal(scene, "35"), "reason": "disposal"}
    technician_client.post(url, visit_data(scene, {"transfers": [recovery], **RETIRED}))

    assert "no recovery" not in filed_page(technician_client)
