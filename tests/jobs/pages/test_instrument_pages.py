"""Pages of recovery machines, scales and gauges, and of their calibrations."""

import datetime

import pytest
from django.urls import reverse

from jobs.models import Calibration, Instrument, RecoveryMachine
from jobs.services.calibrations import calibration_record
from tests.factories import GaugeFactory, RecoveryMachineFactory, ScaleFactory, UserFactory

pytestmark = pytest.mark.django_db

MACHINE = {
    "make": "Hollin",
    "model": "R3",
    "serial_number": "RM-1",
    "made_on": "1993-11-14",
    "certified_by": "",
    "kind": "self_contained",
    "is_in_use": "on",
}
SCALE = {
    "kind": "scale",
    "make": "Tarn",
    "serial_number": "SC-1",
    "division_entered": "0.1",
    "division_unit": "oz",
    "accuracy_entered": "0.2",
    "accuracy_pct": "0.5",
    "calibration_interval_months": "12",
    "is_in_use": "on",
}


def calibration(instrument, on="2020-01-10"):
    return calibration_record(
        by=UserFactory(),
        instrument=instrument,
        calibrated_on=datetime.date.fromisoformat(on),
        certificate_number="K-100",
        calibrated_by="Weights Laboratory",
    )


def text(response):
    return " ".join(response.content.decode().split())


def test_the_office_adds_and_changes_a_machine(admin):
    response = admin.post(reverse("recovery-machine-add"), MACHINE, follow=True)
    machine = RecoveryMachine.objects.get()
    assert "No certification on record" in text(response)

    admin.post(
        reverse("recovery-machine-change", args=[machine.pk]),
        {**MACHINE, "certified_by": "Testing Institute"},
    )

    page = text(admin.get(reverse("recovery-machine-detail", args=[machine.pk])))
    assert "No certification on record" not in page
    assert "<ins>Testing Institute</ins>" in page


def test_the_office_adds_a_scale_and_its_calibration(admin):
    admin.post(reverse("instrument-add"), SCALE)
    scale = Instrument.objects.get()
    assert (scale.division_mg, scale.accuracy_mg) == (2_835, 5_670)
    assert "It has no calibration on record" in text(admin.get(reverse("instrument-detail", args=[scale.pk])))

    typed = {
        "calibrated_on": "2020-01-10",
        "certificate_number": "K-7",
        "calibrated_by": "Weights Laboratory",
    }
    page = text(admin.post(reverse("calibration-add", args=[scale.pk]), typed, follow=True))

    assert "Its calibration has run out" in page
    assert scale.calibrations.get().due_on == datetime.date(2021, 1, 10)


@pytest.mark.parametrize(
    ("box", "value", "expected"),
    [
        ("division_entered", "fine", "a figure above zero"),
        ("division_unit", "micron", "g, kg, oz or lb"),
        ("accuracy_pct", "much", "a number"),
        ("serial_number", "", "an entry"),
        ("kind", "sundial", "one of the choices"),
    ],
)
def test_a_field_is_refused_with_its_value_and_nothing_is_lost(admin, box, value, expected):
    response = admin.post(reverse("instrument-add"), {**SCALE, box: value})

    form = response.context["form"]
    assert expected in str(form.errors[box])
    assert form["make"].value() == "Tarn"
    assert not Instrument.objects.exists()


def test_a_calibration_is_corrected_once_and_both_records_stay(admin):
    row = calibration(ScaleFactory())
    url = reverse("calibration-correct", args=[row.pk])
    typed = {
        "calibrated_on": "2020-02-10",
        "certificate_number": "K-100",
        "calibrated_by": "Weights Laboratory",
    }

    assert "correction_reason" in admin.post(url, typed).context["form"].errors
    page = text(admin.post(url, {**typed, "correction_reason": "Misread."}, follow=True))

    assert "Corrects the record before: Misread." in page
    assert '<span class="tag">Corrected</span>' in page
    assert Calibration.objects.count() == 2
    assert admin.get(url).status_code == 404


def test_lists_are_searched_and_say_when_they_are_empty(admin, technician):
    assert "No scales, gauges or detectors yet" in text(admin.get(reverse("instrument-list")))
    assert "No recovery machines yet" in text(technician.get(reverse("recovery-machine-list")))
    scale, gauge, machine = ScaleFactory(), GaugeFactory(), RecoveryMachineFactory()
    calibration(scale)

    page = text(technician.get(reverse("instrument-list"), {"q": "K-100"}))
    assert scale.serial_number in page
    assert gauge.serial_number not in page
    assert "Run out" in page
    assert "matches “zzz”" in text(technician.get(reverse("instrument-list"), {"q": "zzz"}))
    assert "matches “zzz”" in text(technician.get(reverse("recovery-machine-list"), {"q": "zzz"}))
    assert str(machine) in text(technician.get(reverse("recovery-machine-list"), {"q": "hollin"}))


def test_a_list_of_many_takes_no_more_queries(admin, django_assert_max_num_queries):
    for _ in range(12):
        calibration(ScaleFactory())

    with django_assert_max_num_queries(12):
        admin.get(reverse("instrument-list"))
