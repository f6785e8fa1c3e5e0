"""What the event form stands filled with, and what it tells before anyone types."""

import datetime

import pytest
from django.urls import reverse

from jobs.models import Leak
from jobs.services.technicians import certification_record, technician_register
from tests.compliance.events.posting import addition, visit_data
from tests.compliance.events.scene import pounds, register_appliance, register_cylinder


@pytest.fixture
def url(scene):
    return reverse("event-add", args=[scene.appliance.pk])


def _leak(client, scene, url):
    rows = {"leaks": [{"part": "Flare fitting", "location": "Liquid line"}]}
    client.post(url, visit_data(scene, rows, inspection_methods=["Bubble solution"]))
    return Leak.objects.get()


def test_a_new_form_stands_at_today_at_the_site_and_the_technician_signed_in(technician_client, scene, url):
    page = technician_client.get(url).context["page"]

    assert page.visit["happened_on"].value() == datetime.date(2026, 9, 1)
    assert page.visit["technician"].value() == scene.technician.pk
    assert page.visit["origin"].value() == "own"


def test_every_form_has_a_submission_id_of_its_own(technician_client, url):
    ids = {technician_client.get(url).context["page"].visit["submission_id"].value() for _ in range(2)}

    assert len(ids) == 2


def test_the_appliance_stands_on_top_with_charge_and_safety_class(technician_client, url):
    page = technician_client.get(url).content.decode()

    assert "Rooftop chiller 3" in page
    assert "Safety class A1" in page
    assert "60.000\u00a0lb (27.216\u00a0kg)" in page


def test_a_certificate_is_held_against_the_charge_in_force(technician_client, scene):
    """A small appliance holds 5 lb or less (40 CFR 82.152); with more, Type I doesn't cover it (40 CFR 82.161)."""
    helper = technician_register(by=scene.admin, full_name="Rhea Small")
    certification_record(
        by=scene.admin,
        technician=helper,
        type="type_i",
        number="I-7",
        issuer="Prairie Trades Examining Board",
        issued_on=datetime.date(2015, 3, 1),
    )
    cooler = register_appliance(
        scene.admin,
        scene.technician,
        customer="Harrow Dairy",
        is_hermetically_sealed=True,
        full_charge=pounds("5"),
    )
    url = reverse("event-add", args=[cooler.pk])

    def note():
        options = technician_client.get(url).context["page"].background.technicians
        return next(option.note for option in options if option.technician == helper)

    assert note() == "Type I"
    change = {
        "kind": "full_charge_change",
        "full_charge_value": "6",
        "full_charge_unit": "lb",
        "method": "measurement",
    }
    assert technician_client.post(url, visit_data(scene, {"statements": [change]})).status_code == 302
    assert note() == "Type I; doesn't cover this appliance"


@pytest.mark.parametrize(
    ("refrigerant", "cautions"),
    [
        # Safety groups of ASHRAE 34.
        ("R-32", ["Flammable (A2L)"]),
        ("R-123", ["Toxic (B1)"]),
        ("R-717", ["Flammable (B2L)", "Toxic (B2L)"]),
        ("R-410A", []),
    ],
)
def test_flammable_and_toxic_refrigerants_carry_a_caution(technician_client, scene, refrigerant, cautions):
    appliance = register_appliance(
        scene.admin, scene.technician, customer="Harrow Dairy", refrigerant=refrigerant
    )

    page = technician_client.get(reverse("event-add", args=[appliance.pk])).content.decode()

    assert [word for word in ("Flammable", "Toxic") if f"<strong>{word} (" in page] == [
        caution.split(" ")[0] for caution in cautions
    ]
    assert all(caution in page for caution in cautions)


def test_the_headroom_of_the_day_is_told_in_both_units(technician_client, url):
    # 10 % of 60 lb over 365 days: 6 lb (40 CFR 84.106(b)(1), (c)(2)).
    page = technician_client.get(url).content.decode()

    assert "6.000\u00a0lb" in page
    # Rounded down to a milligram.
    assert 'data-headroom-mg="2721554"' in page


def test_the_headroom_fragment_follows_the_date(technician_client, scene, url):
    technician_client.post(
        url, visit_data(scene, {"transfers": [addition(scene, "2")]}, happened_on="2026-03-02")
    )
    fragment = reverse("event-headroom", args=[scene.appliance.pk])

    # 183 days after the last addition: 60 × 10 % × 183 / 365 = 3.008 lb.
    page = technician_client.get(fragment, {"happened_on": "2026-09-01"}).content.decode()

    assert "3.008\u00a0lb" in page
    assert "<html" not in page


@pytest.mark.parametrize(
    "query",
    [
        {},
        {"on": "yesterday"},
        {"on": "2026-02-30"},
        {"on": "2026-09-01", "without": "x"},
        {"on": "2026-09-01", "without": "9" * 5000},
    ],
)
def test_the_headroom_fragment_answers_whatever_it_is_asked(technician_client, scene, query):
    response = technician_client.get(reverse("event-headroom", args=[scene.appliance.pk]), query)

    assert response.status_code == 200


def test_the_evacuation_level_of_the_appliance_is_told(technician_client, url):
    # High pressure, less than 200 lb: 0 in Hg vacuum (40 CFR 82.156(a), table 1).
    assert "0 in Hg vacuum" in technician_client.get(url).content.decode()


def test_cylinders_show_what_they_hold_and_those_of_the_refrigerant_come_first(technician_client, scene, url):
    register_cylinder(scene.admin, "CY-300", "refillable", refrigerant="R-22", contents="9")

    choices = dict(technician_client.get(url).context["page"].choices.cylinders)

    assert list(choices) == ["Holding R-410A", "Empty", "For another refrigerant"]
    (own,) = choices["Holding R-410A"]
    assert own[0] == str(scene.supply.pk)
    assert own[1].startswith("CY-100 · Van · holds 25.000 lb")
    assert choices["Empty"][0][1].startswith("CY-200")


def test_technicians_show_what_they_are_certified_for(technician_client, scene, url):
    labels = [label for _, label in technician_client.get(url).context["page"].choices.technicians]

    assert labels == ["Perrin Vale – apprentice", "Tamsin Okafor – Universal"]


def test_settling_a_repair_opens_its_section_with_a_row_for_each_open_leak(technician_client, scene, url):
    leak = _leak(technician_client, scene, url)

    page = technician_client.get(url, {"settles": "repair"}).context["page"]

    assert page.is_open["repairs"]
    assert page.visit["work_kinds"].value() == ["leak_repair"]
    assert [form["leak"].value() for form in page.formsets["repairs"]][:1] == [str(leak.pk)]


def test_settling_a_test_preselects_the_test(technician_client, scene, url):
    _leak(technician_client, scene, url)

    page = technician_client.get(url, {"settles": "follow_up_verification_test"}).context["page"]

    assert page.is_open["tests"]
    assert page.formsets["tests"].forms[0]["kind"].value() == "follow_up_verification_test"


@pytest.mark.parametrize(
    ("settles", "section"),
    [
        ("leak_inspection", "inspection"),
        ("retrofit_or_retirement", "more"),
        ("owner", "owner"),
    ],
)
def test_settling_opens_the_section_that_is_asked_for(technician_client, url, settles, section):
    assert technician_client.get(url, {"settles": settles}).context["page"].is_open[section]


def test_settling_something_unknown_opens_nothing(technician_client, url):
    page = technician_client.get(url, {"settles": "<script>"}).context["page"]

    assert not any(page.is_open.values())


def test_a_site_outside_the_united_states_types_kilograms_first(technician_client, scene):
    appliance = register_appliance(scene.admin, scene.technician, customer="Harrow Dairy")
    appliance.site.country = "GB"
    appliance.site.save()

    page = technician_client.get(reverse("event-add", args=[appliance.pk])).context["page"]

    assert page.formsets["transfers"].forms[0]["mass"].value() == ["", "", "kg"]


def test_what_is_typed_for_another_unit_still_counts_as_blank_without_a_figure(technician_client, scene, url):
    rows = {"transfers": [{"mass_unit": "kg"}, {"direction": "out", "reason": "disposal"}]}

    response = technician_client.post(url, visit_data(scene, rows), follow=True)

    assert response.redirect_chain
    assert not response.context["record"].moves


def test_the_form_takes_few_queries_however_many_rows_it_offers(
    technician_client, scene, url, django_assert_max_num_queries
):
    for number in range(12):
        register_cylinder(scene.admin, f"CY-5{number:02}", "recovery", contents="4")
    technician_client.get(url)

    with django_assert_max_num_queries(32):
        technician_client.get(url)
