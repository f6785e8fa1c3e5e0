"""A check of a cylinder's pressure, filed in the cylinder's history."""

import uuid

import pytest
from django.test import Client
from django.urls import reverse

from jobs.models import ChainLink, CylinderPressureCheck
from jobs.services.verification import records_verify
from tests.factories import CylinderFactory, supply_cylinder

pytestmark = pytest.mark.django_db

# R-134a at 25 °C stands at 665.8 kPa, 81.9 psig (from memory).
READ = {
    "refrigerant": "R-134a",
    "checked_on": "2026-03-02",
    "temperature_value": "77",
    "temperature_unit": "F",
    "pressure_value": "82",
    "pressure_unit": "psig",
    "gauge_doubt": "1",
    "temperature_doubt": "2",
    "vapour_drawn": "0",
    "note": "",
}


def file(client: Client, cylinder, **changes: object):
    url = reverse("pressure-check", args=[cylinder.pk])
    return client.post(url, {"submission_id": str(uuid.uuid4()), **READ, **changes})


@pytest.mark.parametrize(
    ("pressure", "verdict"), [("82", "fits"), ("88", "recheck"), ("110", "too_high"), ("60", "too_low")]
)
def test_check_is_filed_with_its_verdict_and_why(technician: Client, pressure: str, verdict: str) -> None:
    cylinder = CylinderFactory()

    response = file(technician, cylinder, pressure_value=pressure)

    check = CylinderPressureCheck.objects.get()
    assert response.url == reverse("cylinder-detail", args=[cylinder.pk])
    assert check.verdict == verdict
    assert check.readings["pressure"] == f"{pressure} psig"
    page = technician.get(response.url).content.decode()
    assert "Pressure checks" in page
    assert check.get_verdict_display() in page
    link = ChainLink.objects.get(record_kind="pressure_check", record_id=check.pk)
    assert link.chain == f"cylinder:{cylinder.pk}"
    assert list(records_verify()) == []


def test_form_begins_with_what_the_cylinder_holds(technician: Client) -> None:
    cylinder = supply_cylinder("25 lb")

    form = technician.get(reverse("pressure-check", args=[cylinder.pk])).context["form"]

    assert form["refrigerant"].value() == "R-410A"


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"refrigerant": "R-438A"}, "refrigerant"),
        ({"refrigerant": "R-9999"}, "refrigerant"),
        ({"temperature_value": "400"}, "temperature"),
        ({"pressure_value": "-20"}, "pressure"),
        ({"gauge_doubt": "-1"}, "gauge_doubt"),
        ({"checked_on": "2999-01-01"}, "checked_on"),
        ({"vapour_drawn": "101"}, "vapour_drawn"),
        ({"altitude_value": "99999", "altitude_unit": "m"}, "altitude"),
    ],
)
def test_check_is_refused_at_its_field(technician: Client, changes: dict[str, str], field: str) -> None:
    response = file(technician, CylinderFactory(), **changes)

    assert list(response.context["form"].errors) == [field]
    assert not CylinderPressureCheck.objects.exists()


def test_same_form_sent_twice_files_once_and_another_reading_is_refused(technician: Client) -> None:
    cylinder, submission = CylinderFactory(), str(uuid.uuid4())

    file(technician, cylinder, submission_id=submission)
    again = file(technician, cylinder, submission_id=submission)
    other = file(technician, cylinder, submission_id=submission, pressure_value="110")

    assert again.status_code == 302
    assert "filed before" in other.context["form"].errors["pressure"][0]
    assert CylinderPressureCheck.objects.count() == 1


def test_a_stranger_files_none(stranger: Client) -> None:
    assert file(stranger, CylinderFactory()).status_code == 403
    assert not CylinderPressureCheck.objects.exists()
