"""Lists of the registers: search, order, counts, and no query for each row."""

import datetime

import pytest

from jobs.models import CertificationType
from jobs.selectors.appliances import appliance_list, charge_in_force
from jobs.selectors.customers import customer_list, site_list
from jobs.selectors.cylinder_state import cylinder_state
from jobs.selectors.cylinders import cylinder_list, fill_room
from jobs.selectors.ledger import cylinder_contents
from jobs.selectors.technicians import technician_list
from jobs.services.events import service_event_void
from jobs.services.submission import StatementEntry
from tests.factories import (
    FILED_AT,
    ApplianceFactory,
    CertificationFactory,
    CustomerFactory,
    CylinderFactory,
    SiteFactory,
    TechnicianFactory,
    UserFactory,
    charged,
    entered,
    file_event,
    recovered,
    supply_cylinder,
)

pytestmark = pytest.mark.django_db


def test_customers_are_counted_whatever_is_searched_for():
    dairy = CustomerFactory(name="Larkspur Dairy")
    for city in ("Dunmore", "Scranton"):
        ApplianceFactory.create_batch(2, site=SiteFactory(customer=dairy, city=city))
    CustomerFactory(name="Abbey Foods")

    assert [customer.name for customer in customer_list()] == ["Abbey Foods", "Larkspur Dairy"]
    found = customer_list(search=" dunmore ").get()
    assert (found.name, found.site_count, found.appliance_count) == ("Larkspur Dairy", 2, 4)
    assert not customer_list(search="%").exists()


def test_sites_are_listed_for_one_customer():
    site = SiteFactory(name="Creamery")
    ApplianceFactory(site=site)
    SiteFactory()

    assert site_list(customer=site.customer).get().appliance_count == 1
    assert site_list(search="cream").get() == site


def test_appliances_tell_when_they_were_last_visited():
    appliance = ApplianceFactory(name="Rack A", serial_number="B-77")
    file_event(appliance, happened_on=datetime.date(2026, 2, 1))
    newest = file_event(appliance, happened_on=datetime.date(2026, 2, 9)).event
    ApplianceFactory(name="Freezer")

    assert appliance_list(search="b-77").get().last_event_on == newest.happened_on
    service_event_void(by=UserFactory(), event=newest, reason="No visit.", filed_at=FILED_AT)
    assert appliance_list(search="b-77").get().last_event_on == datetime.date(2026, 2, 1)
    assert appliance_list(search="freezer").get().last_event_on is None


@pytest.mark.parametrize("words", ["rack larkspur", " LARKSPUR  b-77", "404 dun creamery", "rack"])
def test_appliances_are_found_by_any_words_of_theirs(words):
    site = SiteFactory(name="Creamery", city="Dunmore", customer__name="Larkspur Dairy")
    rack = ApplianceFactory(site=site, name="Rack A", serial_number="B-77", refrigerant="R-404A")
    ApplianceFactory(site=site, name="Chiller")

    assert list(appliance_list(search=words)) == [rack]
    assert not appliance_list(search=f"{words} Abbey").exists()


def test_cylinders_tell_what_they_hold():
    full, empty = supply_cylinder("25 lb"), CylinderFactory()

    assert {cylinder: cylinder.contents_mg for cylinder in cylinder_list()} == {
        full: entered("25 lb").mass_mg,
        empty: 0,
    }
    assert cylinder_list(search=full.serial_number.lower()).get() == full


def test_technicians_who_left_come_last():
    left = TechnicianFactory(full_name="Ada Able", is_active=False)
    stays = TechnicianFactory(full_name="Zoe Zephyr")
    CertificationFactory(technician=stays, number="X-1", type=CertificationType.TYPE_II)
    CertificationFactory(technician=stays, number="X-2", type=CertificationType.TYPE_III)

    assert list(technician_list()) == [stays, left]
    assert list(technician_list(search="x-")) == [stays]


@pytest.mark.parametrize(
    ("make", "rows"),
    [
        (ApplianceFactory, lambda: [(row.site.customer.name, row.technician) for row in appliance_list()]),
        (SiteFactory, lambda: [(row.customer.name, row.appliance_count) for row in site_list()]),
        (CustomerFactory, lambda: [row.site_count for row in customer_list()]),
        (supply_cylinder, lambda: [(row.contents_mg, row.holder.pk) for row in cylinder_list()]),
        (TechnicianFactory, lambda: [list(row.certifications.all()) for row in technician_list()]),
    ],
)
def test_list_takes_no_query_for_each_row(make, rows, django_assert_max_num_queries):
    for _ in range(4):
        make()

    with django_assert_max_num_queries(2):
        assert len(rows()) == 4


def test_room_in_a_cylinder_shrinks_by_what_it_holds():
    cylinder = CylinderFactory()
    before = fill_room(cylinder, "R-410A")

    file_event(transfers=(recovered(cylinder, "3 lb"),))

    assert fill_room(cylinder, "R-410A") == before - entered("3 lb").mass_mg
    assert fill_room(cylinder, "R-410A", cylinder_contents(cylinder)) == before - entered("3 lb").mass_mg
    assert fill_room(cylinder, "R-22") == 0


# Near R-23's critical temperature, 26.1 °C, no fill limit is known, and 49 CFR 173.304a(a)(2) lists none.
def test_cylinder_without_a_known_limit_has_a_state():
    state = cylinder_state(supply_cylinder("5 lb", refrigerant="R-23"), today=datetime.date(2026, 3, 2))

    assert (state.limit, state.room_mg) == (None, None)
    assert state.held_mg == entered("5 lb").mass_mg


def test_charge_in_force_is_the_newest_that_was_stated_by_the_day():
    appliance = ApplianceFactory()
    for day, charge_mg in ((5, 28_000_000), (1, 26_000_000)):
        file_event(
            appliance,
            happened_on=datetime.date(2026, 2, day),
            statements=(StatementEntry("full_charge_change", {"full_charge_mg": charge_mg}),),
        )

    charges = [
        charge_in_force(appliance, datetime.date.fromisoformat(f"2026-{day}")).full_charge_mg
        for day in ("01-31", "02-01", "02-04", "02-05")
    ]
    assert charges == [appliance.full_charge_mg, 26_000_000, 26_000_000, 28_000_000]


def test_book_of_an_emptied_cylinder_names_no_refrigerant():
    cylinder = supply_cylinder("7 lb")

    file_event(transfers=(charged(cylinder, "7 lb"),))

    assert cylinder_contents(cylinder) == {}
