"""Customers and their sites: forms, what they refuse, and the pages that follow."""

import pytest
from django.test import Client
from django.urls import reverse

from jobs.models import Customer, Jurisdiction, LeakRateMethod, Site
from tests.factories import ApplianceFactory, CustomerFactory, SiteFactory

pytestmark = pytest.mark.django_db

CUSTOMER = {
    "name": "Alder Street Bakery",
    "contact_name": "Vera Pohl",
    "email": "vera@alder-street.example",
    "phone": "555-0119",
    "address": "3 Alder Street\nDunmore",
    "is_reminded": "on",
    "reminders_agreed_on": "2026-02-27",
    "note": "",
}
SITE = {
    "name": "Bakehouse",
    "street": "3 Alder Street",
    "city": "Dunmore",
    "region": "MN",
    "postal_code": "55001",
    "country": "US",
    "jurisdiction": Jurisdiction.US_FEDERAL.value,
    "time_zone": "America/Chicago",
    "leak_rate_method": LeakRateMethod.ROLLING_AVERAGE.value,
    "altitude_m": "",
}


def test_a_customer_is_added_and_its_page_asks_for_a_site(admin: Client) -> None:
    response = admin.post(reverse("customer-add"), CUSTOMER, follow=True)

    customer = Customer.objects.get()
    html = response.content.decode()
    assert response.redirect_chain == [(reverse("customer-detail", args=[customer.pk]), 302)]
    assert customer.is_reminded
    assert 'agreed on <span class="date">2026-02-27</span>' in html
    assert customer.history.get().history_user.full_name == "Odile Marchetti"
    assert "Alder Street Bakery is on record." in html
    assert f'href="{reverse("site-add", args=[customer.pk])}"' in html


def test_a_customer_s_taken_name_is_refused_at_the_field(admin: Client) -> None:
    CustomerFactory(name="Alder Street Bakery")

    response = admin.post(reverse("customer-add"), CUSTOMER)

    form = response.context["form"]
    assert "Alder Street Bakery" in form.errors["name"][0]
    assert Customer.objects.count() == 1
    assert form["contact_name"].value() == "Vera Pohl"
    assert '<a href="#id_name">Name</a>' in response.content.decode()


@pytest.mark.parametrize(("field", "value"), [("name", ""), ("email", "vera-at-alder"), ("name", "A" * 161)])
def test_a_customer_field_of_the_wrong_shape_is_refused(field: str, value: str, admin: Client) -> None:
    response = admin.post(reverse("customer-add"), {**CUSTOMER, field: value})

    assert list(response.context["form"].errors) == [field]
    assert not Customer.objects.exists()


@pytest.mark.parametrize(
    ("changes", "field", "said"),
    [
        (
            {"reminders_agreed_on": ""},
            "reminders_agreed_on",
            "Expected the day on which the customer agreed to reminders. You gave nothing.",
        ),
        ({"reminders_agreed_on": "2199-01-01"}, "reminders_agreed_on", "Expected a date from"),
        ({"reminders_agreed_on": "27.2.2026"}, "reminders_agreed_on", "You gave “27.2.2026”."),
        ({"email": ""}, "email", "Expected an e-mail address to send the reminders to. You gave nothing."),
    ],
)
def test_a_contact_is_reminded_only_where_that_was_agreed_and_can_be(
    changes: dict[str, str], field: str, said: str, admin: Client
) -> None:
    form = admin.post(reverse("customer-add"), {**CUSTOMER, **changes}).context["form"]

    assert list(form.errors) == [field]
    assert said in form.errors[field][0]


def test_an_agreement_that_was_given_up_stays_in_the_history(admin: Client) -> None:
    admin.post(reverse("customer-add"), CUSTOMER)
    customer = Customer.objects.get()

    without = {name: value for name, value in CUSTOMER.items() if name != "is_reminded"}
    admin.post(reverse("customer-change", args=[customer.pk]), without)

    dates = customer.history.order_by("history_id").values_list("reminders_agreed_on", flat=True)
    assert [on and on.isoformat() for on in dates] == ["2026-02-27", None]


def test_a_customer_is_changed_and_the_page_tells_the_history(admin: Client) -> None:
    customer = CustomerFactory(name="Old Name Bakery", phone="555-0100")

    response = admin.post(
        reverse("customer-change", args=[customer.pk]), {**CUSTOMER, "name": "New Name Bakery"}, follow=True
    )

    html = response.content.decode()
    assert "New Name Bakery is changed." in html
    assert "<del>Old Name Bakery</del>" in html
    assert "<ins>New Name Bakery</ins>" in html
    assert "Send deadline reminders to the contact: <del>no</del>" in html
    assert "<strong>Changed</strong> by Odile Marchetti" in html


def test_a_refused_change_names_the_customer_as_it_is(admin: Client) -> None:
    CustomerFactory(name="Taken Name")
    customer = CustomerFactory(name="Old Name Bakery")

    response = admin.post(reverse("customer-change", args=[customer.pk]), {**CUSTOMER, "name": "Taken Name"})

    assert f'<a href="{reverse("customer-detail", args=[customer.pk])}">Old Name Bakery</a>' in (
        response.content.decode()
    )
    customer.refresh_from_db()
    assert customer.name == "Old Name Bakery"


def test_a_site_is_added_with_its_clock_and_method(admin: Client) -> None:
    customer = CustomerFactory()

    response = admin.post(reverse("site-add", args=[customer.pk]), SITE, follow=True)

    site = Site.objects.get()
    assert (site.customer, site.time_zone, site.leak_rate_method) == (
        customer,
        "America/Chicago",
        LeakRateMethod.ROLLING_AVERAGE,
    )
    assert "Each independent refrigerant circuit is one appliance" in response.content.decode()


@pytest.mark.parametrize(
    ("field", "value"),
    [("time_zone", "Mars/Olympus"), ("jurisdiction", "moon"), ("altitude_m", "-3"), ("country", "USA")],
)
def test_a_site_field_is_refused_with_its_value(field: str, value: str, admin: Client) -> None:
    customer = CustomerFactory()

    response = admin.post(reverse("site-add", args=[customer.pk]), {**SITE, field: value})

    errors = response.context["form"].errors
    assert list(errors) == [field]
    assert not Site.objects.exists()


def test_a_site_s_name_that_the_customer_has_already_is_refused(admin: Client) -> None:
    site = SiteFactory(name="Bakehouse")

    response = admin.post(reverse("site-add", args=[site.customer.pk]), SITE)

    assert response.context["form"].errors
    assert Site.objects.count() == 1


def test_the_common_time_zones_come_first_and_an_old_name_stays_on_offer(admin: Client) -> None:
    site = SiteFactory(time_zone="EST5EDT")

    form = admin.get(reverse("site-change", args=[site.pk])).context["form"]

    groups = [name for name, _ in form.fields["time_zone"].choices]
    assert groups == ["This site", "Common", "All others"]
    assert form["time_zone"].value() == "EST5EDT"


def test_a_site_page_shows_its_law_and_its_appliances(officer: Client) -> None:
    site = SiteFactory(jurisdiction=Jurisdiction.US_CALIFORNIA, altitude_m=1609)
    appliance = ApplianceFactory(site=site, refrigerant="R-32")
    ApplianceFactory(name="Elsewhere")

    html = officer.get(reverse("site-detail", args=[site.pk])).content.decode()

    assert "United States: California" in html
    assert "1609 m" in html
    assert f'href="{reverse("appliance-detail", args=[appliance.pk])}"' in html
    assert "Elsewhere" not in html


def test_a_site_s_method_is_changed_on_its_page(admin: Client) -> None:
    site = SiteFactory(leak_rate_method=LeakRateMethod.ANNUALIZING)
    ApplianceFactory(site=site)

    admin.post(reverse("site-change", args=[site.pk]), {**SITE, "name": site.name})

    site.refresh_from_db()
    assert site.leak_rate_method == LeakRateMethod.ROLLING_AVERAGE
