"""Registers: what is kept, what is refused, and that changes leave a history."""

import datetime
from dataclasses import replace

import pytest

from jobs.models import (
    Customer,
    Holder,
    HolderKind,
    StockMovement,
    StockMovementKind,
    Technician,
)
from jobs.selectors.ledger import appliance_book_mg, refrigerant_totals
from jobs.services.appliances import appliance_change, appliance_register
from jobs.services.customers import customer_change, customer_register, site_change, site_register
from jobs.services.entries import ApplianceEntry
from jobs.services.events import service_event_void
from jobs.services.technicians import certification_record, technician_change, technician_register
from tests.factories import (
    FILED_AT,
    CustomerFactory,
    SiteFactory,
    TechnicianFactory,
    UserFactory,
    entered,
    file_event,
)
from tests.jobs.refused import refused

pytestmark = pytest.mark.django_db

APPLIANCE = ApplianceEntry(
    name="Rack A",
    category="commercial_refrigeration",
    refrigerant="R404A",
    full_charge=entered("1200 lb"),
    full_charge_method="manufacturer",
    installed_on=datetime.date(2018, 6, 1),
)


def register_appliance(**fields):
    return appliance_register(
        by=UserFactory(), site=SiteFactory(), entry=replace(APPLIANCE, **fields), filed_at=FILED_AT
    )


def test_customer_is_registered_with_who_did_it():
    by = UserFactory()

    customer = customer_register(by=by, name="Larkspur Dairy", email="office@larkspur.example")

    assert customer.history.get().history_user == by


def test_customer_is_refused_when_its_name_is_taken_or_its_address_is_none():
    CustomerFactory(name="Larkspur Dairy")

    refusals = refused(customer_register, by=UserFactory(), name="Larkspur Dairy", email="nobody")

    assert refusals.keys() == {"name", "email"}
    assert refusals["email"].value == "nobody"
    assert Customer.objects.count() == 1


def test_customer_change_keeps_the_former_details():
    customer = customer_register(by=UserFactory(), name="Larkspur Dairy")

    customer_change(by=UserFactory(), customer=customer, name="Larkspur Creamery")

    assert list(customer.history.values_list("name", flat=True)) == ["Larkspur Creamery", "Larkspur Dairy"]


def test_customer_has_no_field_that_its_register_does_not_change():
    with pytest.raises(TypeError, match="pk"):
        customer_change(by=UserFactory(), customer=CustomerFactory(), pk=1)


def test_site_is_refused_when_its_time_zone_is_none():
    refusals = refused(
        *(site_register,),
        by=UserFactory(),
        customer=CustomerFactory(),
        name="Plant",
        street="1 A St",
        city="B",
        time_zone="Mars/Olympus",
    )

    assert refusals.keys() == {"time_zone"}


# The standard atmosphere is reckoned up to 9000 m here; the highest land is at 8849 m (from memory).
def test_site_is_refused_when_it_lies_higher_than_any_land():
    site = site_change(by=UserFactory(), site=SiteFactory(), altitude_m=9000)

    for altitude_m in (9001, 99_999_999, -1):
        refusals = refused(site_change, by=UserFactory(), site=site, altitude_m=altitude_m)

        assert refusals.keys() == {"altitude_m"}
        assert refusals["altitude_m"].value == altitude_m


def test_site_change_keeps_the_former_details():
    site = site_change(by=UserFactory(), site=SiteFactory(city="Dunmore"), city="Scranton")

    assert [record.city for record in site.history.all()] == ["Scranton", "Dunmore"]


def test_appliance_is_registered_with_its_account_and_its_opening_charge():
    appliance = register_appliance()

    assert appliance.refrigerant == "R-404A"
    assert appliance.registered_on == datetime.date(2026, 3, 2)
    assert appliance.holder.kind == HolderKind.APPLIANCE
    assert appliance_book_mg(appliance) == entered("1200 lb").mass_mg
    assert StockMovement.objects.get().kind == StockMovementKind.APPLIANCE_OPENING
    assert refrigerant_totals() == {"R-404A": 0}


def test_appliance_without_a_charge_opens_with_empty_books():
    assert appliance_book_mg(register_appliance(is_charged=False)) == 0


def test_appliance_is_refused_with_all_that_is_wrong_with_it():
    refusals = refused(
        register_appliance,
        name="",
        refrigerant="R-9999",
        full_charge=entered("0 lb"),
        installed_on=datetime.date(2026, 3, 3),
        full_charge_method="established_range",
        is_residential_or_light_commercial=True,
    )

    assert refusals.keys() == {
        "name", "refrigerant", "full_charge", "installed_on", "full_charge_note", "subsector_reason",
        "full_charge_lowest", "full_charge_highest",
    }  # fmt: skip
    assert Holder.objects.count() == 0


# The site's day is what counts: 06:00 UTC on 3 March is still 2 March in Chicago.
def test_appliance_is_refused_when_it_is_installed_tomorrow_at_the_site():
    early = datetime.datetime(2026, 3, 3, 5, 59, tzinfo=datetime.UTC)

    refusals = refused(
        appliance_register,
        by=UserFactory(),
        site=SiteFactory(time_zone="America/Chicago"),
        entry=replace(APPLIANCE, installed_on=datetime.date(2026, 3, 3)),
        filed_at=early,
    )

    assert refusals.keys() == {"installed_on"}


# Type I is for small appliances, Type III for low-pressure ones; R-404A is neither here (40 CFR 82.161, 82.152).
@pytest.mark.parametrize("certified", ["type_i", "type_iii", False])
def test_appliance_is_refused_when_no_certificate_of_its_technician_covers_it(certified):
    technician = TechnicianFactory(certified=certified)

    refusals = refused(register_appliance, technician=technician)

    assert refusals.keys() == {"technician"}
    assert refusals["technician"].citation.startswith("40 CFR 82.161")
    assert technician.full_name in str(refusals["technician"])


@pytest.mark.parametrize("certified", ["type_ii", "universal"])
def test_appliance_takes_a_technician_whose_certificate_covers_it(certified):
    technician = TechnicianFactory(certified=certified)

    assert register_appliance(technician=technician).technician == technician


def test_appliance_outside_the_united_states_asks_for_no_federal_certificate():
    site = SiteFactory(jurisdiction="eu", country="DE", time_zone="Europe/Berlin")
    entry = replace(APPLIANCE, technician=TechnicianFactory(certified=False))

    appliance = appliance_register(by=UserFactory(), site=site, entry=entry, filed_at=FILED_AT)

    assert appliance.technician == entry.technician


def test_appliance_change_is_refused_when_it_leaves_the_technician_without_a_certificate():
    appliance = register_appliance(technician=TechnicianFactory(certified="type_ii"))

    refusals = refused(
        *(appliance_change,), by=UserFactory(), appliance=appliance, refrigerant="R-123", filed_at=FILED_AT
    )

    assert "Type II" in refusals["technician"].expected


def test_appliance_change_of_charge_rewrites_the_opening_by_reversal():
    appliance = register_appliance()

    appliance_change(by=UserFactory(), appliance=appliance, full_charge=entered("1100 lb"), filed_at=FILED_AT)

    appliance.refresh_from_db()
    assert appliance.full_charge_entered == "1100"
    assert appliance_book_mg(appliance) == entered("1100 lb").mass_mg
    assert appliance.stock_movements.count() == 2


def test_appliance_change_of_charge_is_refused_after_a_record_stands_on_it():
    appliance = register_appliance()
    file_event(appliance)

    refusals = refused(
        *(appliance_change,),
        by=UserFactory(),
        appliance=appliance,
        full_charge=entered("1100 lb"),
        filed_at=FILED_AT,
    )

    assert "82.157(l)(1)" in refusals["full_charge"].citation


def test_appliance_change_of_its_name_is_taken_after_a_record_stands_on_it():
    appliance = register_appliance()
    file_event(appliance)

    changed = appliance_change(by=UserFactory(), appliance=appliance, name="Rack B", filed_at=FILED_AT)

    assert changed.name == "Rack B"


def test_appliance_is_refused_when_it_was_installed_before_there_were_any():
    refusals = refused(register_appliance, installed_on=datetime.date(1899, 12, 31))

    assert "from 1900-01-01 to 2026-03-02" in refusals["installed_on"].expected


def test_appliance_is_not_installed_after_its_first_visit():
    appliance, by = register_appliance(), UserFactory()
    later = file_event(appliance, happened_on=datetime.date(2026, 2, 9)).event
    first = file_event(appliance, happened_on=datetime.date(2026, 2, 1)).event
    change = {"by": by, "appliance": appliance, "filed_at": FILED_AT}

    refusals = refused(appliance_change, **change, installed_on=datetime.date(2026, 2, 2))

    assert refusals.keys() == {"installed_on"}
    assert str(first) in refusals["installed_on"].expected
    assert appliance_change(**change, installed_on=datetime.date(2026, 2, 1)).pk
    # A voided visit took no place.
    service_event_void(by=by, event=first, reason="No visit.", filed_at=FILED_AT)
    assert appliance_change(**change, installed_on=later.happened_on).pk


def test_apprentice_needs_the_date_of_registration():
    refusals = refused(technician_register, by=UserFactory(), full_name="Jo March", is_apprentice=True)

    assert refusals.keys() == {"apprentice_registered_on"}
    assert Technician.objects.count() == 0


@pytest.mark.parametrize("registered_on", [datetime.date(2026, 3, 3), datetime.date(1899, 12, 31)])
def test_apprentice_is_refused_a_day_of_registration_that_cannot_be(registered_on):
    apprentice = {"is_apprentice": True, "apprentice_registered_on": registered_on, "recorded_at": FILED_AT}
    by, technician = UserFactory(), TechnicianFactory()

    added = refused(technician_register, by=by, full_name="Jo March", **apprentice)
    changed = refused(technician_change, by=by, technician=technician, **apprentice)

    assert added.keys() == changed.keys() == {"apprentice_registered_on"}
    assert added["apprentice_registered_on"].value == registered_on


def test_technician_change_keeps_the_former_details():
    technician = technician_change(by=UserFactory(), technician=TechnicianFactory(), is_active=False)

    assert [record.is_active for record in technician.history.all()] == [False, True]


def test_certification_is_refused_when_it_is_from_the_future_or_on_record():
    technician = TechnicianFactory(certified=False)
    fields = {
        "by": UserFactory(),
        "technician": technician,
        "type": "universal",
        "number": "608-1",
        "issuer": "Board",
        "recorded_at": FILED_AT,
    }
    certification_record(**fields, issued_on=datetime.date(2026, 3, 2))

    for issued_on in (datetime.date(2026, 3, 3), datetime.date(1899, 12, 31)):
        refusals = refused(certification_record, **fields, issued_on=issued_on)

        assert refusals.keys() == {"issued_on", "number"}


def test_site_and_appliance_names_are_unique_within_their_parent():
    site, appliance = SiteFactory(), register_appliance()
    fields = {"by": UserFactory(), "name": site.name, "street": "1 A St", "city": "B"}

    assert refused(site_register, customer=site.customer, **fields).keys() == {"name"}
    assert site_register(customer=CustomerFactory(), **fields).name == site.name
    assert refused(
        appliance_register, by=UserFactory(), site=appliance.site, entry=APPLIANCE, filed_at=FILED_AT
    ).keys() == {"name"}
