"""Amending and voiding a filed record: the former version stays, the later one counts."""

import pytest
from django.urls import reverse

from compliance.forms.events.initial import filed_visit
from compliance.forms.events.page import EventPage
from compliance.models import LeakRate
from compliance.selectors.event_form import event_background
from compliance.selectors.event_record import whole_events
from jobs.models import Leak, ServiceEvent
from jobs.selectors.ledger import cylinder_contents
from tests.compliance.events.posting import ROWS, addition, removal, row_data, visit_data

FULL_VISIT = {
    "leaks": [{"part": "Flare fitting", "location": "Liquid line"}],
    "repairs": [{"leak": "new-1", "work_done": "Flare remade", "is_evacuated": "on"}],
    "tests": [
        {
            "leak": "new-1",
            "kind": "initial_verification_test",
            "method": "Bubble solution",
            "is_passed": "yes",
        }
    ],
    "statements": [
        {"kind": "full_charge_change", "full_charge_value": "61.3", "full_charge_unit": "lb"},
    ],
}
FULL_BOXES = {
    "work_kinds": ["leak_inspection", "leak_repair", "verification"],
    "inspection_methods": ["Electronic detector", "other"],
    "inspection_other": "Helium sniffer",
    "is_inspection_complete": None,
    "inspection_note": "Coil behind the ceiling",
    "is_circuit_opened": "on",
    "opening_kind": "leaking",
    "opening_note": "Header cracked.",
    "final_vacuum": "380.5",
    "is_back_to_normal": "on",
    "signature_name": "Lev Brandt",
    "signature_svg_path": "M10 20L30 40",
    "owner_told_on": "2026-09-01",
    "owner_told_name": "Lev Brandt",
    "owner_decision": "accepted",
}


@pytest.fixture
def filed(technician_client, scene):
    """A visit on record with something in every section."""
    rows = {"transfers": [removal(scene, "2"), addition(scene, "9", leak="new-1")], **FULL_VISIT}
    url = reverse("event-add", args=[scene.appliance.pk])
    technician_client.post(url, visit_data(scene, rows, **FULL_BOXES))
    return ServiceEvent.objects.get()


@pytest.fixture
def url(filed):
    return reverse("event-amend", args=[filed.pk])


def shown_data(page):
    """What a browser sends back of a page that nobody touched."""
    boxes = {name: page.visit[name].value() for name in page.visit.fields}
    data = {name: value for name, value in boxes.items() if value not in (None, "", False)}
    for name in ROWS:
        rows = [_shown_row(form) for form in page.formsets[name].forms]
        data |= row_data(name, rows)
    return data


def _shown_row(form):
    row = {}
    for name, field in form.fields.items():
        value = form[name].value()
        if hasattr(field.widget, "widgets"):
            parts = value if isinstance(value, list) else field.widget.decompress(value)
            row |= {
                f"{name}_{end}": part for end, part in zip(("value", "ounces", "unit"), parts, strict=True)
            }
        elif value not in (None, "", False):
            row[name] = value
    return row


def test_the_form_stands_filled_with_what_was_filed(officer_client, filed, url):
    page = officer_client.get(url).context["page"]

    assert page.visit["work_done"].value() == filed.work_done
    assert page.visit["inspection_methods"].value() == ["Electronic detector", "other"]
    assert page.visit["inspection_other"].value() == "Helium sniffer"
    assert page.visit["is_inspection_complete"].value() is False
    assert page.visit["is_back_to_normal"].value() is True
    assert [form["mass"].value().value for form in page.formsets["transfers"].forms[:2]] == ["2", "9"]
    assert page.formsets["tests"].forms[0]["is_passed"].value() == "yes"
    assert page.formsets["statements"].forms[0]["full_charge"].value().value == "61.3"
    assert all(page.is_open.values())


def test_an_untouched_form_says_the_same_as_the_record(officer_client, scene, filed, url):
    event = whole_events().get()
    background = event_background(scene.appliance, on=event.happened_on, amended=event)
    shown = EventPage(background, filed_visit(event, background), today=event.happened_on)

    data = shown_data(shown) | {"reason": "Nothing changed"}
    response = officer_client.post(url, data, follow=True)

    assert response.redirect_chain
    assert response.context["changes"] == []
    assert response.context["event"].supersedes == filed


def test_an_amendment_takes_the_place_of_the_record(officer_client, scene, filed, url):
    data = shown_data(officer_client.get(url).context["page"])
    data |= {"reason": "Scale misread", "transfers-1-mass_value": "8"}

    response = officer_client.post(url, data, follow=True)

    newer = ServiceEvent.objects.get(supersedes=filed)
    assert newer.amendment_reason == "Scale misread"
    assert newer.filed_by == scene.officer
    # 25 lb less 8 lb.
    assert cylinder_contents(scene.supply) == {"R-410A": 7_711_070}
    assert cylinder_contents(scene.recovery) == {"R-410A": 907_185}
    assert Leak.objects.count() == 1
    # Net 8 − 2 = 6 lb of 60 lb in 365 days (first calculation): exactly 10 %.
    assert [str(rate.rate_pct) for rate in LeakRate.objects.all()] == ["10.00"]
    assert f"as signed under {filed}" in response.content.decode()
    (change,) = response.context["changes"]
    assert change.label == "Refrigerant moved"
    assert "9 lb" in change.before[1]
    assert "8 lb" in change.after[1]


def test_the_former_record_stays_readable_and_points_to_the_newer(officer_client, filed, url):
    data = shown_data(officer_client.get(url).context["page"]) | {"reason": "Scale misread"}
    officer_client.post(url, data)
    newer = ServiceEvent.objects.get(supersedes=filed)

    page = officer_client.get(reverse("event-detail", args=[filed.pk])).content.decode()

    assert "This record was replaced" in page
    assert reverse("event-detail", args=[newer.pk]) in page
    assert "Flare remade" in page
    assert "verdict-rate" not in page


def test_an_amendment_needs_a_reason(officer_client, filed, url):
    data = shown_data(officer_client.get(url).context["page"]) | {"reason": " "}

    response = officer_client.post(url, data)

    assert response.status_code == 200
    assert "Say why the record is changed" in response.content.decode()
    assert ServiceEvent.objects.count() == 1


def test_the_reason_is_in_the_list_of_what_is_wrong(officer_client, filed, url):
    data = shown_data(officer_client.get(url).context["page"]) | {"reason": ""}

    response = officer_client.post(url, data)

    assert 'href="#id_reason"' in response.content.decode()


def test_only_a_record_that_stands_can_be_amended(officer_client, filed, url):
    data = shown_data(officer_client.get(url).context["page"]) | {"reason": "Scale misread"}
    officer_client.post(url, data)

    for name in ("event-amend", "event-void"):
        response = officer_client.get(reverse(name, args=[filed.pk]), follow=True)

        assert response.redirect_chain[0][0] == reverse("event-detail", args=[filed.pk])
        assert "only a record that stands can be amended" in response.content.decode()


def test_the_headroom_of_an_amendment_leaves_the_amended_addition_out(officer_client, filed, url):
    # Without the filed 9 lb nothing was ever added: 10 % of the 60 lb in force before the visit.
    assert 'data-headroom-mg="2721554"' in officer_client.get(url).content.decode()


def test_voiding_states_that_the_visit_never_took_place(officer_client, scene, filed):
    url = reverse("event-void", args=[filed.pk])

    assert "never took place" in officer_client.get(url).content.decode()
    response = officer_client.post(url, {"reason": "Filed on the wrong rack"}, follow=True)

    voided = ServiceEvent.objects.get(supersedes=filed)
    assert voided.is_void
    assert cylinder_contents(scene.recovery) == {}
    assert not LeakRate.objects.exists()
    assert "Filed on the wrong rack" in response.content.decode()
    page = officer_client.get(reverse("event-detail", args=[filed.pk])).content.decode()
    assert "This record was voided" in page


def test_voiding_needs_a_reason(officer_client, filed):
    response = officer_client.post(reverse("event-void", args=[filed.pk]), {"reason": ""})

    assert response.status_code == 200
    assert ServiceEvent.objects.count() == 1


def test_rows_that_later_records_rest_on_are_refused_at_their_section(
    officer_client, technician_client, scene, filed, url
):
    # What was recovered on the first visit goes back on a later one, and the leak found is repaired again.
    rows = {
        "transfers": [{"direction": "in", "cylinder": scene.recovery.pk, "mass_value": "2"}],
        "repairs": [{"leak": Leak.objects.get().pk, "work_done": "Flare remade again"}],
    }
    later = visit_data(scene, rows, work_kinds=["leak_repair"])
    assert technician_client.post(reverse("event-add", args=[scene.appliance.pk]), later).status_code == 302
    data = visit_data(scene, {"transfers": [addition(scene, "9")]}, reason="Nothing recovered, no leak")

    response = officer_client.post(url, data)

    page = response.content.decode()
    messages = {error.field_id: error.message for error in response.context["page"].errors}
    assert messages.keys() == {"section-transfers", "section-leaks"}
    assert "CY-200" in messages["section-transfers"]
    assert 'href="#section-leaks"' in page
    assert response.context["page"].is_open["inspection"]


def test_a_record_that_later_ones_rest_on_cannot_be_voided(officer_client, technician_client, scene, filed):
    # What was recovered on the first visit goes back on a later one.
    rows = {"transfers": [{"direction": "in", "cylinder": scene.recovery.pk, "mass_value": "2"}]}
    url = reverse("event-add", args=[scene.appliance.pk])
    assert technician_client.post(url, visit_data(scene, rows)).status_code == 302

    response = officer_client.post(reverse("event-void", args=[filed.pk]), {"reason": "Wrong rack"})

    assert response.status_code == 200
    assert "CY-200" in response.content.decode()
    assert not ServiceEvent.objects.filter(is_void=True).exists()
