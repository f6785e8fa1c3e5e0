"""A cylinder of which the portal can't say how much it may hold is filled by its own markings, and the record says so.

R-23 boils far below 25 °C and is critical at 26.1 °C: no liquid share of a cylinder at 50 °C or 60 °C is its limit.
"""

import pytest
from django.urls import reverse

from compliance.selectors.event_record import event_record, whole_events
from tests.compliance.events.scene import NOW
from tests.factories import ApplianceFactory, CylinderFactory, file_event, recovered


@pytest.mark.django_db
@pytest.mark.parametrize(("refrigerant", "is_marked"), [("R-23", True), ("R-22", False)])
def test_what_went_into_it_marks_the_record_for_the_officer(refrigerant, is_marked):
    cascade = ApplianceFactory(refrigerant=refrigerant)
    cylinder = CylinderFactory(serial_number="CY-23")
    event = file_event(cascade, transfers=(recovered(cylinder, "1 lb"),)).event

    cautions = event_record(whole_events().get(pk=event.pk), NOW).cautions

    told = [caution for caution in cautions if "no fill limit is known" in caution.text]
    assert bool(told) is is_marked
    assert all("CY-23" in caution.text and caution.citation == "49 CFR 173.304a" for caution in told)


@pytest.mark.parametrize("refrigerant", ["R-23", "R-410A"])
def test_the_form_says_it_before_anything_is_filled(technician_client, scene, refrigerant):
    appliance = ApplianceFactory(refrigerant=refrigerant)
    CylinderFactory(serial_number="CY-23")

    page = technician_client.get(reverse("event-add", args=[appliance.pk])).content.decode()

    assert ("no limit known, its markings govern" in page) is (refrigerant == "R-23")
