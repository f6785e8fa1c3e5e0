"""The event form's part about recovery and opening, and what a record tells of instruments and levels."""

import datetime

import pytest
from django.urls import reverse

from jobs.models import ServiceEvent
from jobs.services.appliances import appliance_change
from jobs.services.calibrations import calibration_record
from jobs.services.customers import site_change
from tests.compliance.events.posting import addition, removal, visit_data
from tests.compliance.events.scene import TODAY, pounds
from tests.factories import GaugeFactory, RecoveryMachineFactory, ScaleFactory

OPENED = {"is_circuit_opened": "on", "opening_kind": "major"}


@pytest.fixture
def url(scene):
    return reverse("event-add", args=[scene.appliance.pk])


@pytest.fixture
def large(scene):
    """The appliance with 300 lb: table 1 asks for 10 in Hg of a high-pressure appliance of 200 lb and more."""
    appliance_change(by=scene.admin, appliance=scene.appliance, full_charge=pounds("300"))
    return scene.appliance


def plain(response):
    return " ".join(response.content.decode().replace("\u00a0", " ").split())


def evacuation(client, scene, **boxes):
    return plain(client.get(reverse("event-evacuation", args=[scene.appliance.pk]), boxes))


def test_the_form_says_the_level_without_anything_chosen(technician_client, large, url):
    page = plain(technician_client.get(url))

    assert "10 in Hg vacuum" in page
    assert "altitude isn't on record" in page.replace("&#x27;", "'")


# 40 CFR 82.156(a), table 1, a machine made before 1993-11-15; (a)(1), (a)(2).
def test_the_fragment_follows_the_machine_and_the_reason(technician_client, scene, large):
    old = RecoveryMachineFactory(made_on=datetime.date(1993, 11, 14))

    assert "4 in Hg vacuum" in evacuation(technician_client, scene, recovery_machine=old.pk)
    assert "0 psig" in evacuation(technician_client, scene, opening_kind="not_major")
    assert "5 psig" in evacuation(technician_client, scene, opening_kind="oil_change")
    leaking = evacuation(technician_client, scene, opening_kind="leaking")
    assert "40 CFR 82.156(a)(2)" in leaking
    assert "10 in Hg vacuum" in leaking


# U.S. Standard Atmosphere, 1976: at 5000 ft (1524 m) a gauge shows 5.0 in Hg for the level of 10.
@pytest.mark.parametrize(("reading", "words"), [("5", "reading reaches it"), ("4.9", "reach it")])
def test_the_fragment_reckons_with_the_altitude(technician_client, scene, large, reading, words):
    site_change(by=scene.admin, site=scene.appliance.site, altitude_m=1524)

    page = evacuation(technician_client, scene, final_vacuum=reading, final_vacuum_unit="inHg_vac")

    assert "5.0 in Hg of vacuum" in page
    assert words in page
    assert ("evacuation-missed" in page) is (reading == "4.9")


@pytest.mark.parametrize(
    "boxes",
    [
        {"recovery_machine": "x", "opening_kind": "x", "final_vacuum": "low", "happened_on": "x"},
        {"happened_on": "1950-01-01"},
        {"final_vacuum": "5", "final_vacuum_unit": "torr"},
    ],
)
def test_the_fragment_takes_whatever_is_typed(technician_client, scene, boxes):
    assert evacuation(technician_client, scene, **boxes)


def test_the_fragment_is_not_for_strangers(client, scene):
    client.force_login(scene.stranger)

    assert client.get(reverse("event-evacuation", args=[scene.appliance.pk])).status_code == 403


def test_the_last_instruments_stand_chosen_and_count_only_where_they_were_used(technician_client, scene, url):
    machine, gauge, scale = RecoveryMachineFactory(), GaugeFactory(), ScaleFactory()
    boxes = {**OPENED, "final_vacuum": "380", "recovery_machine": machine.pk, "gauge": gauge.pk}
    rows = {"transfers": [removal(scene, "2", scale=scale.pk)]}
    technician_client.post(url, visit_data(scene, rows, **boxes))
    first = ServiceEvent.objects.get()
    assert (first.recovery_machine, first.gauge) == (machine, gauge)
    assert first.transfers.get().scale == scale

    page = technician_client.get(url).context["page"]

    assert (page.visit["recovery_machine"].value(), page.visit["gauge"].value()) == (machine.pk, gauge.pk)
    assert page.formsets["transfers"].forms[0]["scale"].value() == scale.pk
    data = visit_data(
        scene, {"transfers": [addition(scene, "1")]}, recovery_machine=machine.pk, gauge=gauge.pk
    )
    technician_client.post(url, data)
    second = ServiceEvent.objects.latest("pk")
    assert (second.recovery_machine, second.gauge) == (None, None)


def test_a_machine_that_may_not_be_used_is_refused_at_its_box(technician_client, scene, url):
    machine = RecoveryMachineFactory(certified_by="")

    page = technician_client.post(
        url, visit_data(scene, **OPENED, final_vacuum="380", recovery_machine=machine.pk)
    )

    assert "82.154(b)(2)" in str(page.context["page"].visit.errors["recovery_machine"])
    assert not ServiceEvent.objects.exists()


# The last day of a calibration counts; the day after doesn't.
@pytest.mark.parametrize(
    ("due_on", "is_marked"), [(TODAY, False), (TODAY - datetime.timedelta(days=1), True)]
)
def test_a_calibration_run_out_warns_on_the_form_and_marks_the_record(
    technician_client, scene, url, due_on, is_marked
):
    scale = ScaleFactory()
    calibration_record(
        by=scene.admin,
        instrument=scale,
        calibrated_on=datetime.date(2025, 8, 1),
        due_on=due_on,
        certificate_number="K-9",
        calibrated_by="Weights Laboratory",
    )
    assert (f"calibration ran out {due_on}" in plain(technician_client.get(url))) is is_marked

    rows = {"transfers": [addition(scene, "1", scale=scale.pk)]}
    response = technician_client.post(url, visit_data(scene, rows), follow=True)

    assert bool(response.context["record"].cautions) is is_marked
    assert ("For the compliance officer to look at" in plain(response)) is is_marked
    assert "K-9" in plain(response)


@pytest.mark.parametrize(("reading", "is_marked"), [("10", False), ("9.9", True)])
def test_a_level_not_reached_marks_the_record(technician_client, scene, large, url, reading, is_marked):
    boxes = {**OPENED, "final_vacuum": reading, "final_vacuum_unit": "inHg_vac"}

    response = technician_client.post(url, visit_data(scene, **boxes), follow=True)

    cautions = response.context["record"].cautions
    assert [caution.citation for caution in cautions] == ["40 CFR 82.156(a), table 1"] * is_marked
    assert ("Not reached" in plain(response)) is is_marked


# 40 CFR 82.156(b): 80 % of 2 lb with the compressor not running is 1.6 lb.
@pytest.mark.parametrize(("mass", "is_marked"), [("1.6", False), ("1.599", True)])
def test_a_small_appliance_is_held_against_the_share_recovered(
    technician_client, scene, url, mass, is_marked
):
    appliance_change(
        by=scene.admin,
        appliance=scene.appliance,
        full_charge=pounds("2"),
        is_hermetically_sealed=True,
    )
    assert "The compressor ran during the recovery" in plain(technician_client.get(url))
    rows = {"transfers": [removal(scene, mass)]}

    response = technician_client.post(
        url, visit_data(scene, rows, **OPENED, is_compressor_running="no"), follow=True
    )

    assert bool(response.context["record"].cautions) is is_marked
