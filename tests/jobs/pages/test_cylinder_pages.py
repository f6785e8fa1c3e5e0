"""Cylinders: forms, contents, fill limit, cautions, and what moved."""

import datetime
import io

import pytest
import time_machine
from django.test import Client
from django.urls import reverse
from pypdf import PdfReader

from jobs.models import Cylinder
from jobs.physics.fill_limits import max_net_mg
from jobs.selectors.ledger import cylinder_contents
from tests import people
from tests.factories import (
    ApplianceFactory,
    CylinderFactory,
    charged,
    entered,
    file_event,
    recovered,
    supply_cylinder,
)
from tests.jobs.pages.conftest import browser_of

pytestmark = pytest.mark.django_db

CYLINDER = {
    "serial_number": "RC-0117",
    "kind": "recovery",
    "specification": "DOT-4BA400",
    "refrigerant": "R-410A",
    "water_capacity_value": "47.7",
    "water_capacity_ounces": "",
    "water_capacity_unit": "lb",
    "tare_value": "28",
    "tare_ounces": "",
    "tare_unit": "lb",
    "requalified_on": "2024-04-01",
    "requalification_period_years": "5",
    "place": "van",
    "place_note": "Van 3",
    "contents_value": "",
    "contents_ounces": "",
    "contents_unit": "lb",
    "contents_on": "",
}


def test_an_empty_cylinder_is_added(admin: Client) -> None:
    response = admin.post(reverse("cylinder-add"), CYLINDER)

    cylinder = Cylinder.objects.get()
    assert response.url == reverse("cylinder-detail", args=[cylinder.pk])
    assert (cylinder.tare_entered, cylinder.water_capacity_unit, cylinder.place_note) == ("28", "lb", "Van 3")
    assert cylinder_contents(cylinder) == {}


def test_a_cylinder_is_added_with_what_it_holds(admin: Client) -> None:
    admin.post(reverse("cylinder-add"), {**CYLINDER, "contents_value": "12.5", "contents_on": "2026-01-05"})

    # 12.5 lb at 453.59237 g (NIST Handbook 44, appendix C).
    assert cylinder_contents(Cylinder.objects.get()) == {"R-410A": 5_669_905}


@pytest.mark.parametrize(
    ("changes", "field", "words"),
    [
        ({"serial_number": ""}, "serial_number", "You gave nothing"),
        ({"tare_value": "heavy"}, "tare", "You gave “heavy”"),
        ({"water_capacity_value": "-1"}, "water_capacity", "You gave “-1”"),
        ({"requalified_on": "2999-01-01"}, "requalified_on", "2999-01-01"),
        ({"refrigerant": "R-999"}, "refrigerant", "R-999"),
        ({"contents_value": "4", "refrigerant": ""}, "refrigerant", "Expected the refrigerant"),
        ({"contents_value": "900"}, "contents", "900.000 lb"),
        ({"contents_value": "4", "contents_on": "2999-01-01"}, "contents_on", "2999-01-01"),
        ({"kind": "barrel"}, "kind", "barrel"),
    ],
)
def test_a_cylinder_is_refused_at_the_field(
    changes: dict[str, str], field: str, words: str, admin: Client
) -> None:
    response = admin.post(reverse("cylinder-add"), {**CYLINDER, **changes})

    errors = response.context["form"].errors
    assert words in errors[field][0]
    assert not Cylinder.objects.exists()


def test_a_cylinder_is_changed_with_its_masses_as_they_were_typed(admin: Client) -> None:
    cylinder = CylinderFactory(tare_entered="28", tare_unit="lb")
    page = reverse("cylinder-change", args=[cylinder.pk])

    html = admin.get(page).content.decode()
    admin.post(page, {**CYLINDER, "tare_value": "12", "tare_unit": "kg"})

    cylinder.refresh_from_db()
    assert 'name="tare_value" value="28"' in html
    assert "contents_value" not in html
    assert (cylinder.tare_mg, cylinder.tare_entered, cylinder.tare_unit) == (12_000_000, "12", "kg")


def test_a_cylinder_is_not_dedicated_to_another_refrigerant_than_it_holds(admin: Client) -> None:
    cylinder = supply_cylinder("10 lb")

    response = admin.post(reverse("cylinder-change", args=[cylinder.pk]), {**CYLINDER, "refrigerant": "R-32"})

    assert "still holds R-410A" in response.context["form"].errors["refrigerant"][0]


def test_the_page_shows_contents_limit_room_and_what_the_scale_should_show(technician: Client) -> None:
    cylinder = supply_cylinder("10 lb")
    limit = max_net_mg("R-410A", cylinder.water_capacity_mg)

    response = technician.get(reverse("cylinder-detail", args=[cylinder.pk]))

    state = response.context["state"]
    html = response.content.decode()
    assert state.contents == {"R-410A": entered("10 lb").mass_mg}
    assert state.room_mg == limit.max_net_mg - entered("10 lb").mass_mg
    assert state.gross_mg == cylinder.tare_mg + entered("10 lb").mass_mg
    assert limit.because in html.replace("&#x27;", "'")
    assert "Never overfill." in html
    assert '<span class="figure-value">10.000</span> <span class="figure-unit">lb</span>' in html


@pytest.mark.parametrize(("refrigerant", "is_marked"), [("R-152a", True), ("R-410A", False)])
def test_the_page_and_the_label_mark_a_limit_that_rests_on_memory(
    technician: Client, refrigerant: str, is_marked: bool
) -> None:
    """The filling density of R-152a, 49 CFR 173.304a(a)(2), is from memory."""
    cylinder = CylinderFactory(refrigerant=refrigerant)

    html = technician.get(reverse("cylinder-detail", args=[cylinder.pk])).content.decode()
    label = technician.get(reverse("cylinder-labels"), {"cylinder": cylinder.pk}).content

    assert ("Rests on an unconfirmed source." in html) is is_marked
    assert ("filling density of R-152a, 79 %" in html) is is_marked
    printed = PdfReader(io.BytesIO(label)).pages[0].extract_text()
    assert ("unconfirmed" in printed) is is_marked


def test_the_page_says_when_no_limit_is_known(technician: Client) -> None:
    cylinder = CylinderFactory()

    html = technician.get(reverse("cylinder-detail", args=[cylinder.pk])).content.decode()

    assert "no limit known" in html
    assert "ask the maker of the cylinder" in html


def test_a_disposable_cylinder_shows_no_room_and_warns(technician: Client) -> None:
    cylinder = CylinderFactory(kind="disposable", refrigerant="R-410A")

    html = technician.get(reverse("cylinder-detail", args=[cylinder.pk])).content.decode()

    assert "It is never refilled" in html
    assert "Room left" not in html


@pytest.mark.parametrize(
    ("today", "words"),
    [
        # Marked April 2024, a period of five years: to the end of April 2029 (49 CFR 180.205(c), 180.209).
        (datetime.date(2029, 1, 29), "2029-04-30"),
        (datetime.date(2029, 1, 30), "Test due soon"),
        (datetime.date(2029, 4, 30), "Test due soon"),
        (datetime.date(2029, 5, 1), "it may not be filled until it is requalified"),
    ],
)
def test_the_page_warns_before_and_after_the_test_runs_out(today: datetime.date, words: str) -> None:
    cylinder = CylinderFactory(requalified_on=datetime.date(2024, 4, 1))

    with time_machine.travel(datetime.datetime.combine(today, datetime.time(18), datetime.UTC), tick=False):
        technician = browser_of(people.technician_user())
        html = technician.get(reverse("cylinder-detail", args=[cylinder.pk])).content.decode()

    assert words in html


def test_the_page_lists_what_moved_newest_first_with_record_and_other_side(technician: Client) -> None:
    appliance = ApplianceFactory(name="Rack A")
    cylinder = supply_cylinder("25 lb")
    event = file_event(appliance, transfers=(charged(cylinder, "7 lb"),)).event

    html = technician.get(reverse("cylinder-detail", args=[cylinder.pk])).content.decode()

    assert html.index(str(event)) < html.index("Bought from a supplier")
    assert f'<a href="{reverse("appliance-detail", args=[appliance.pk])}">Rack A</a>' in html
    assert 'data-label="Out" class="number">7.000\u00a0lb<' in html
    assert 'data-label="In" class="number">25.000\u00a0lb<' in html
    assert "Harbor Gas" in html


def test_the_page_takes_as_many_queries_for_many_movements_as_for_few(
    technician: Client, django_assert_max_num_queries
) -> None:
    appliance = ApplianceFactory()
    cylinder = supply_cylinder("25 lb")
    for _ in range(6):
        file_event(appliance, transfers=(charged(cylinder, "1 lb"),), is_separate_visit=True)

    with django_assert_max_num_queries(26):
        response = technician.get(reverse("cylinder-detail", args=[cylinder.pk]))

    assert len(response.context["page_obj"]) == 7


def test_recovered_refrigerant_shows_as_coming_in(technician: Client) -> None:
    appliance = ApplianceFactory()
    cylinder = CylinderFactory()
    file_event(appliance, transfers=(recovered(cylinder, "3 lb"),))

    html = technician.get(reverse("cylinder-detail", args=[cylinder.pk])).content.decode()

    assert 'data-label="In" class="number">3.000\u00a0lb<' in html
