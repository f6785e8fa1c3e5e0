"""Who may file, read and correct events."""

import pytest
from django.urls import reverse

from jobs.models import ServiceEvent
from tests.compliance.events.posting import visit_data

# The page, and who among the four may open it.
PAGES = {
    "event-pick": {"user"},
    "event-add": {"user"},
    "event-list": {"admin", "user", "officer"},
    "event-detail": {"admin", "user", "officer"},
    "event-headroom": {"admin", "user", "officer"},
    "event-amend": {"officer"},
    "event-void": {"officer"},
}
PEOPLE = ("admin", "user", "officer", "stranger")


@pytest.fixture
def urls(technician_client, scene):
    technician_client.post(reverse("event-add", args=[scene.appliance.pk]), visit_data(scene))
    technician_client.logout()
    event, appliance = ServiceEvent.objects.get(), scene.appliance
    of_event = {name: [event.pk] for name in ("event-detail", "event-amend", "event-void")}
    of_appliance = {name: [appliance.pk] for name in ("event-add", "event-headroom")}
    return {name: reverse(name, args=(of_event | of_appliance).get(name, [])) for name in PAGES}


@pytest.mark.parametrize("person", PEOPLE)
@pytest.mark.parametrize("name", PAGES)
def test_a_page_opens_for_those_it_is_meant_for(client, scene, urls, name, person):
    client.force_login(getattr(scene, person))

    assert client.get(urls[name]).status_code == (200 if person in PAGES[name] else 403)


@pytest.mark.parametrize("name", PAGES)
def test_nobody_opens_a_page_without_signing_in(client, urls, name):
    response = client.get(urls[name])

    assert response.status_code == 302
    assert response["Location"].startswith(reverse("sign-in"))


@pytest.mark.parametrize("person", ["admin", "officer", "stranger"])
def test_nobody_else_files(client, scene, urls, person):
    client.force_login(getattr(scene, person))

    response = client.post(urls["event-add"], visit_data(scene, work_done="Something else"))

    assert response.status_code == 403
    assert ServiceEvent.objects.count() == 1


@pytest.mark.parametrize("person", ["admin", "user", "stranger"])
@pytest.mark.parametrize("name", ["event-amend", "event-void"])
def test_nobody_else_corrects(client, scene, urls, name, person):
    client.force_login(getattr(scene, person))

    response = client.post(urls[name], visit_data(scene) | {"reason": "Because"})

    assert response.status_code == 403
    assert ServiceEvent.objects.count() == 1


@pytest.mark.parametrize("name", ["event-amend", "event-void"])
def test_a_technician_is_not_shown_how_to_correct(client, scene, urls, name):
    client.force_login(scene.user)

    assert urls[name] not in client.get(urls["event-detail"]).content.decode()


@pytest.mark.parametrize("name", ["event-detail", "event-amend", "event-void", "event-add", "event-headroom"])
def test_what_is_not_on_record_is_not_found(client, scene, name):
    client.force_login(scene.officer if name in ("event-amend", "event-void") else scene.user)

    assert client.get(reverse(name, args=[98765])).status_code == 404
