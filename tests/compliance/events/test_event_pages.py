"""The list of appliances to file for, the list of filed events, and the page of one record."""

import pytest
from django.contrib.auth.models import Permission
from django.urls import reverse

from jobs.models import ServiceEvent
from tests.compliance.events.posting import addition, visit_data
from tests.compliance.events.scene import register_appliance


@pytest.fixture
def other(scene):
    """An appliance of another customer, whose name comes first in the alphabet."""
    return register_appliance(
        scene.admin, None, customer="Alder Dairy", name="Milk cooler", serial_number="MC-77"
    )


def _file(client, scene, appliance=None, rows=None, **boxes):
    url = reverse("event-add", args=[(appliance or scene.appliance).pk])
    response = client.post(url, visit_data(scene, rows, **boxes))
    assert response.status_code == 302, response.context["page"].errors
    return ServiceEvent.objects.order_by("pk").last()


def _appliances(client, **query):
    return [row.name for row in client.get(reverse("event-pick"), query).context["appliances"]]


def _events(client, **query):
    return list(client.get(reverse("event-list"), query).context["events"])


def test_the_technicians_latest_appliances_come_first(technician_client, scene, other):
    assert _appliances(technician_client) == ["Rooftop chiller 3", "Milk cooler"]

    _file(technician_client, scene, other)

    assert _appliances(technician_client) == ["Milk cooler", "Rooftop chiller 3"]


def test_somebody_elses_visit_does_not_bring_an_appliance_forward(technician_client, scene, other):
    _file(
        technician_client, scene, other, origin="other_contractor", contractor_name="Drayton", technician=""
    )

    assert _appliances(technician_client)[0] == "Rooftop chiller 3"


@pytest.mark.parametrize(
    "words",
    ["milk", "alder", "MC-77", "cooler alder", "R-410A milk", "mill street cooler", "larkhollow alder"],
)
def test_an_appliance_is_found_by_words_of_its_names_and_places(technician_client, other, words):
    assert _appliances(technician_client, q=words) == ["Milk cooler"]


def test_a_search_that_finds_nothing_says_what_to_do(technician_client, scene):
    page = technician_client.get(reverse("event-pick"), {"q": "zeppelin"}).content.decode()

    assert "No appliance matches “zeppelin”" in page


def test_what_is_due_on_an_appliance_leads_to_the_form_that_settles_it(technician_client, scene):
    _file(technician_client, scene, rows={"transfers": [addition(scene, "7")]})

    page = technician_client.get(reverse("event-pick")).content.decode()

    assert f"{reverse('event-add', args=[scene.appliance.pk])}?settles=repair" in page
    assert "Leak repair by" in page


def test_events_are_listed_newest_visit_first(technician_client, scene):
    first = _file(technician_client, scene, happened_on="2026-08-30")
    second = _file(technician_client, scene, happened_on="2026-08-12", work_done="Belts")

    assert _events(technician_client) == [first, second]


def test_events_are_found_by_number_words_and_filters(technician_client, scene, other):
    over = _file(
        technician_client, scene, rows={"transfers": [addition(scene, "7")]}, happened_on="2026-08-30"
    )
    repaired = _file(
        technician_client,
        scene,
        other,
        work_kinds=["leak_repair"],
        work_done="Valve core",
        happened_on="2026-07-01",
    )

    assert _events(technician_client, q=over.reference) == [over]
    assert _events(technician_client, q=repaired.reference.lower()) == [repaired]
    assert _events(technician_client, q="alder core") == [repaired]
    assert _events(technician_client, q=str(10**30)) == []
    assert _events(technician_client, work="leak_repair") == [repaired]
    assert _events(technician_client, since="2026-08-01") == [over]
    assert _events(technician_client, until="2026-08-01") == [repaired]
    assert _events(technician_client, over="on") == [over]
    assert _events(technician_client, appliance=other.pk) == [repaired]
    assert _events(technician_client, technician=scene.technician.pk) == [over, repaired]
    assert _events(technician_client, technician=scene.apprentice.pk) == []


@pytest.mark.parametrize(
    "query", [{"since": "soon"}, {"technician": "x"}, {"appliance": "999"}, {"work": "magic"}, {"page": "2"}]
)
def test_a_filter_that_cannot_be_read_does_not_break_the_list(technician_client, scene, query):
    _file(technician_client, scene)

    assert technician_client.get(reverse("event-list"), query).status_code in (200, 404)


def test_replaced_and_voided_records_are_listed_on_request(technician_client, officer_client, scene):
    event = _file(technician_client, scene)
    officer_client.post(reverse("event-void", args=[event.pk]), {"reason": "Wrong rack"})

    assert _events(officer_client) == []
    assert len(_events(officer_client, replaced="on")) == 2


def test_the_list_keeps_its_filter_from_page_to_page(technician_client, scene):
    for number in range(27):
        _file(technician_client, scene, work_done=f"Visit {number}")

    page = technician_client.get(reverse("event-list"), {"work": "service"}).content.decode()

    assert "?work=service&amp;page=2" in page


def test_the_lists_take_as_many_queries_for_many_rows_as_for_one(
    technician_client, scene, other, django_assert_max_num_queries
):
    for number in range(8):
        _file(
            technician_client, scene, work_done=f"Visit {number}", rows={"transfers": [addition(scene, "1")]}
        )
        _file(technician_client, scene, other, work_done=f"Visit {number}")

    for name, most in (("event-list", 11), ("event-pick", 12)):
        with django_assert_max_num_queries(most):
            technician_client.get(reverse(name))


def test_the_page_of_a_record_takes_few_queries(technician_client, scene, django_assert_max_num_queries):
    rows = {
        "transfers": [addition(scene, "1") for _ in range(6)],
        "leaks": [{"part": f"Joint {place}", "location": "Roof"} for place in range(5)],
        "repairs": [{"leak": f"new-{place}", "work_done": "Brazed"} for place in range(1, 6)],
    }
    event = _file(technician_client, scene, rows=rows, inspection_methods=["Bubble solution"])

    with django_assert_max_num_queries(32):
        technician_client.get(reverse("event-detail", args=[event.pk]))


def test_a_record_shows_its_reference_certificate_and_place_in_the_chains(technician_client, scene):
    event = _file(technician_client, scene, rows={"transfers": [addition(scene, "3")]})

    page = technician_client.get(reverse("event-detail", args=[event.pk])).content.decode()

    assert event.reference in page
    assert "Universal no. U-1001" in page
    assert f"chain appliance:{scene.appliance.pk}" in page
    assert f"chain cylinder:{scene.supply.pk}" in page
    assert "2026-09-01 12:00 CDT" in page


def test_what_was_typed_is_shown_as_text_and_never_as_markup(technician_client, scene):
    event = _file(
        technician_client, scene, work_done="<script>alert(1)</script>", signature_name="<b>Lev</b>"
    )

    page = technician_client.get(reverse("event-detail", args=[event.pk])).content.decode()

    assert "<script>alert" not in page
    assert "<b>Lev" not in page


def test_an_owner_told_by_a_later_record_is_not_prompted_for_again(technician_client, scene):
    event = _file(
        technician_client, scene, rows={"transfers": [addition(scene, "7")]}, happened_on="2026-08-30"
    )
    url = reverse("event-detail", args=[event.pk])
    assert "Tell the owner now." in technician_client.get(url).content.decode()

    _file(technician_client, scene, owner_told_on="2026-08-31", owner_told_name="Lev Brandt")

    assert "Tell the owner now." not in technician_client.get(url).content.decode()


def test_an_addition_while_a_clock_runs_says_that_no_new_one_starts(technician_client, scene):
    _file(technician_client, scene, rows={"transfers": [addition(scene, "7")]}, happened_on="2026-08-20")
    event = _file(
        technician_client, scene, rows={"transfers": [addition(scene, "6")]}, happened_on="2026-08-30"
    )

    page = technician_client.get(reverse("event-detail", args=[event.pk])).content.decode()

    assert "No new clock starts" in page


def test_a_person_who_is_no_technician_chooses_one(scene, client):
    scene.admin.user_permissions.add(Permission.objects.get(codename="add_serviceevent"))
    client.force_login(scene.admin)

    page = client.get(reverse("event-add", args=[scene.appliance.pk])).context["page"]

    assert page.visit["technician"].value() == ""
