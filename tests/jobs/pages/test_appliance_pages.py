"""The appliance form: full charge with its unit, cautions, the facility's method, and what is refused."""

import datetime

import pytest
from django.test import Client
from django.urls import reverse

from jobs.models import Appliance, LeakRateMethod, StockMovement
from jobs.selectors.ledger import appliance_book_mg
from tests.factories import ApplianceFactory, SiteFactory, TechnicianFactory, file_event

pytestmark = pytest.mark.django_db

APPLIANCE = {
    "name": "Rack A",
    "category": "commercial_refrigeration",
    "serial_number": "HK-20419",
    "location": "Roof, north side",
    "installed_on": "2019-05-01",
    "refrigerant": "R-404A",
    "full_charge_value": "1200",
    "full_charge_ounces": "",
    "full_charge_unit": "lb",
    "full_charge_method": "manufacturer",
    "full_charge_note": "",
    "is_charged": "on",
    "leak_rate_method": "annualizing",
}
RANGE = {
    "full_charge_method": "established_range",
    "full_charge_lowest_value": "1100",
    "full_charge_lowest_unit": "lb",
    "full_charge_highest_value": "1300",
    "full_charge_highest_unit": "lb",
    "full_charge_note": "Sight glass just clear in winter and in summer, weighed in both.",
}


def test_an_appliance_is_added_with_its_full_charge_as_typed(admin: Client) -> None:
    site = SiteFactory()

    response = admin.post(
        reverse("appliance-add", args=[site.pk]),
        {**APPLIANCE, "full_charge_value": "12", "full_charge_ounces": "8", "full_charge_unit": "lb+oz"},
    )

    appliance = Appliance.objects.get()
    assert response.url == reverse("appliance-detail", args=[appliance.pk])
    # 12 lb 8 oz are 12.5 lb, at 453.59237 g each (NIST Handbook 44, appendix C).
    assert appliance.full_charge_mg == 5_669_905
    assert (appliance.full_charge_entered, appliance.full_charge_unit) == ("12+8", "lb+oz")
    assert appliance_book_mg(appliance) == 5_669_905


def test_an_appliance_that_is_charged_later_starts_empty(admin: Client) -> None:
    site = SiteFactory()

    admin.post(reverse("appliance-add", args=[site.pk]), {**APPLIANCE, "is_charged": ""})

    assert appliance_book_mg(Appliance.objects.get()) == 0
    assert not StockMovement.objects.exists()


@pytest.mark.parametrize(
    ("changes", "field", "words"),
    [
        ({"refrigerant": "R-999"}, "refrigerant", "R-999"),
        ({"full_charge_value": "0"}, "full_charge", "0 lb"),
        ({"full_charge_value": ""}, "full_charge", "You gave nothing"),
        ({"full_charge_value": "12,5"}, "full_charge", "12,5"),
        ({"full_charge_unit": "stone"}, "full_charge", "kg, g, lb, oz"),
        ({"installed_on": "5/1/2019"}, "installed_on", "5/1/2019"),
        ({"installed_on": "2999-01-01"}, "installed_on", "2999-01-01"),
        ({**RANGE, "full_charge_note": ""}, "full_charge_note", "40 CFR 82.157(l)(1)"),
        ({**RANGE, "full_charge_lowest_value": ""}, "full_charge_lowest", "Expected the lower end"),
        ({**RANGE, "full_charge_highest_value": "0"}, "full_charge_highest", "above zero"),
        ({**RANGE, "full_charge_highest_value": "1000"}, "full_charge_highest", "more than the lower end"),
        ({**RANGE, "full_charge_highest_value": "1400"}, "full_charge", "midpoint of the range"),
        ({"is_residential_or_light_commercial": "on"}, "subsector_reason", "40 CFR 84.106(a)"),
        ({"category": "rocket"}, "category", "rocket"),
    ],
)
def test_an_appliance_is_refused_at_the_field(
    changes: dict[str, str], field: str, words: str, admin: Client
) -> None:
    site = SiteFactory()

    response = admin.post(reverse("appliance-add", args=[site.pk]), {**APPLIANCE, **changes})

    assert response.status_code == 200
    errors = response.context["form"].errors
    assert list(errors) == [field]
    assert words in errors[field][0]
    assert not Appliance.objects.exists()


@pytest.mark.parametrize(
    ("refrigerant", "words"),
    [
        ("R-32", ["Flammable refrigerant (A2L)"]),
        ("R-290", ["Flammable refrigerant (A3)"]),
        ("R-717", ["Flammable refrigerant (B2L)", "Toxic refrigerant (B2L)"]),
        ("R-123", ["Toxic refrigerant (B1)"]),
    ],
)
# Safety classes of ASHRAE 34.
def test_the_form_cautions_of_flammable_and_toxic_refrigerants(
    refrigerant: str, words: list[str], admin: Client
) -> None:
    html = admin.get(reverse("refrigerant-cautions"), {"refrigerant": refrigerant}).content.decode()

    assert all(word in html for word in words)
    assert "local codes and your training" in html


@pytest.mark.parametrize("refrigerant", ["R-410A", "R-999", ""])
def test_the_form_has_no_caution_for_other_refrigerants(refrigerant: str, admin: Client) -> None:
    response = admin.get(reverse("refrigerant-cautions"), {"refrigerant": refrigerant})

    assert not response.content.decode().strip()


def test_the_change_form_shows_the_caution_without_a_script(admin: Client) -> None:
    appliance = ApplianceFactory(refrigerant="R-32")

    html = admin.get(reverse("appliance-change", args=[appliance.pk])).content.decode()

    assert "Flammable refrigerant (A2L)" in html
    assert 'list="refrigerant-suggestions"' in html
    assert '<option value="R-32">safety class A2L</option>' in html


def test_the_first_appliance_sets_the_facility_s_method(admin: Client) -> None:
    site = SiteFactory(leak_rate_method=LeakRateMethod.ANNUALIZING)

    admin.post(reverse("appliance-add", args=[site.pk]), {**APPLIANCE, "leak_rate_method": "rolling_average"})

    site.refresh_from_db()
    assert site.leak_rate_method == LeakRateMethod.ROLLING_AVERAGE


def test_a_refused_first_appliance_leaves_the_facility_s_method(admin: Client) -> None:
    site = SiteFactory(leak_rate_method=LeakRateMethod.ANNUALIZING)
    entered = {**APPLIANCE, "leak_rate_method": "rolling_average", "refrigerant": "R-999"}

    admin.post(reverse("appliance-add", args=[site.pk]), entered)

    site.refresh_from_db()
    assert site.leak_rate_method == LeakRateMethod.ANNUALIZING


def test_a_later_appliance_takes_the_method_that_the_facility_has(admin: Client) -> None:
    site = SiteFactory(leak_rate_method=LeakRateMethod.ANNUALIZING)
    ApplianceFactory(site=site)

    admin.post(reverse("appliance-add", args=[site.pk]), {**APPLIANCE, "leak_rate_method": "rolling_average"})
    html = admin.get(reverse("appliance-add", args=[site.pk])).content.decode()

    site.refresh_from_db()
    assert Appliance.objects.count() == 2
    assert site.leak_rate_method == LeakRateMethod.ANNUALIZING
    assert f'href="{reverse("site-change", args=[site.pk])}"' in html


def test_an_appliance_is_changed(admin: Client) -> None:
    appliance = ApplianceFactory(full_charge="60 lb")
    technician = TechnicianFactory()
    page = reverse("appliance-change", args=[appliance.pk])

    form = admin.get(page).context["form"]
    admin.post(page, {**APPLIANCE, "full_charge_value": "62.5", "technician": technician.pk})

    assert form["full_charge"].initial.value == "60"
    appliance.refresh_from_db()
    assert (appliance.name, appliance.full_charge_entered, appliance.technician) == (
        "Rack A",
        "62.5",
        technician,
    )
    assert appliance.installed_on == datetime.date(2019, 5, 1)


def test_a_charge_that_records_stand_on_is_refused_with_the_paragraph(admin: Client) -> None:
    appliance = ApplianceFactory(full_charge="60 lb", refrigerant="R-404A")
    file_event(appliance)

    response = admin.post(
        reverse("appliance-change", args=[appliance.pk]), {**APPLIANCE, "full_charge_value": "70"}
    )

    assert "40 CFR 82.157(l)(1)" in response.context["form"].errors["full_charge"][0]
    appliance.refresh_from_db()
    assert appliance.full_charge_entered == "60"


def test_a_technician_who_left_is_not_on_offer_but_for_the_appliances_in_the_person_s_care(
    admin: Client,
) -> None:
    left = TechnicianFactory(is_active=False)
    cared_for = ApplianceFactory(technician=left)
    other = ApplianceFactory()

    offers = [
        admin.get(reverse("appliance-change", args=[appliance.pk]))
        .context["form"]
        .fields["technician"]
        .queryset
        for appliance in (cared_for, other)
    ]

    assert left in offers[0]
    assert left not in offers[1]
