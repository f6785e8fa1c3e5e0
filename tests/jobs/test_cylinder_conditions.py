"""What is mixed, past its test or disposable: refused where it is filled or used, with the paragraph."""

import datetime

import pytest

from jobs.models import Jurisdiction
from jobs.physics.fill_limits import mixed_max_net_mg
from jobs.selectors.cylinders import requalification_due_on
from jobs.selectors.ledger import cylinder_contents, refrigerant_totals
from tests.factories import (
    HAPPENED_ON,
    ApplianceFactory,
    CylinderFactory,
    SiteFactory,
    TechnicianFactory,
    charged,
    entered,
    file_event,
    recovered,
    supply_cylinder,
)
from tests.jobs.cylinder_acts import decide_period, mark_mixed, remove_heel, sell, withdraw
from tests.jobs.refused import refused
from tests.jobs.test_transfer_refusals import milligrams, purchase, ship

pytestmark = pytest.mark.django_db

DAY_AFTER = HAPPENED_ON + datetime.timedelta(days=1)


@pytest.fixture
def site():
    return SiteFactory()


def mixed_cylinder(site):
    """R-410A and R-134a of one owner in one recovery cylinder, marked as mixed."""
    cylinder = CylinderFactory()
    file_event(ApplianceFactory(site=site), transfers=(recovered(cylinder, "5 lb"),))
    mark_mixed(cylinder, "R-134a")
    other = ApplianceFactory(site=site, refrigerant="R-134a")
    file_event(other, transfers=(recovered(cylinder, "5 lb"),))
    return cylinder


def test_two_refrigerants_are_refused_until_the_cylinder_is_marked(site):
    cylinder = CylinderFactory()
    file_event(ApplianceFactory(site=site), transfers=(recovered(cylinder, "5 lb"),))
    other = ApplianceFactory(site=site, refrigerant="R-134a")

    refusals = refused(file_event, other, transfers=(recovered(cylinder, "5 lb"),))

    assert "mark the cylinder as mixed" in refusals["transfers-0-cylinder"].expected
    assert mixed_cylinder(site).pk
    assert set(refrigerant_totals().values()) == {0}


def test_nothing_mixed_goes_into_an_appliance_even_the_owners(site):
    cylinder = mixed_cylinder(site)

    refusals = refused(file_event, ApplianceFactory(site=site), transfers=(charged(cylinder, "1 lb"),))

    assert "reclamation or destruction" in refusals["transfers-0-cylinder"].expected


def test_a_contaminated_supply_cylinder_is_neither_used_sold_nor_filled():
    cylinder = supply_cylinder("25 lb")
    mark_mixed(cylinder)

    assert "transfers-0-cylinder" in refused(file_event, transfers=(charged(cylinder, "1 lb"),))
    assert "mass" in refused(sell, cylinder, "1 lb")
    assert "refrigerant" in refused(purchase, cylinder, "1 lb", happened_on=HAPPENED_ON)


def test_a_mixed_cylinder_holds_at_most_099_of_the_least_dense(site):
    # thermo: in 13 mixtures tried, the least dense part's density bounds the mixture's within 0.01 %; × 0.99.
    cylinder = mixed_cylinder(site)
    limit_mg = mixed_max_net_mg(["R-134a", "R-410A"], cylinder.water_capacity_mg).max_net_mg
    room_mg = limit_mg - 2 * entered("5 lb").mass_mg

    def recover(mass_mg):
        transfer = recovered(cylinder, "1 lb")
        transfer = type(transfer)("out", cylinder, milligrams(mass_mg))
        return file_event(ApplianceFactory(site=site), transfers=(transfer,))

    assert refused(recover, room_mg + 1).keys() == {"transfers-0-mass"}
    assert recover(room_mg).event.pk


def test_shipped_empty_a_cylinder_is_mixed_no_more(site):
    cylinder = mixed_cylinder(site)
    ship(cylinder, happened_on=DAY_AFTER, filed_at=datetime.datetime(2026, 3, 4, tzinfo=datetime.UTC))

    assert cylinder_contents(cylinder) == {}
    later = {"filed_at": datetime.datetime(2026, 3, 4, tzinfo=datetime.UTC), "happened_on": DAY_AFTER}
    file_event(ApplianceFactory(site=site), transfers=(recovered(cylinder, "5 lb"),), **later)
    assert file_event(ApplianceFactory(site=site), transfers=(charged(cylinder, "5 lb"),), **later).event.pk


def test_a_mark_that_the_books_rest_on_is_not_withdrawn(site):
    cylinder = mixed_cylinder(site)

    assert "record" in refused(withdraw, cylinder.contaminations.get())


def test_a_mark_needs_a_finding_and_refrigerants_that_exist():
    assert refused(mark_mixed, CylinderFactory(), "R-9999", finding="").keys() == {"refrigerants", "finding"}


def test_an_expired_cylinder_is_not_filled_and_may_be_emptied(site):
    # 49 CFR 180.205(c), from memory.
    cylinder = CylinderFactory(requalified_on=datetime.date(2021, 3, 15))
    file_event(ApplianceFactory(site=site), transfers=(recovered(cylinder, "5 lb"),))
    late = {"happened_on": datetime.date(2026, 4, 1)}
    late["filed_at"] = datetime.datetime(2026, 4, 1, 20, tzinfo=datetime.UTC)

    refusals = refused(
        file_event, ApplianceFactory(site=site), transfers=(recovered(cylinder, "1 lb"),), **late
    )

    assert refusals["transfers-0-cylinder"].citation == "49 CFR 180.205(c)"
    assert "used until it is empty" in refusals["transfers-0-cylinder"].expected
    assert file_event(ApplianceFactory(site=site), transfers=(charged(cylinder, "5 lb"),), **late).event.pk


def test_the_officers_decision_moves_the_due_date():
    cylinder = CylinderFactory(requalified_on=datetime.date(2020, 4, 2))

    decide_period(cylinder, 7)

    cylinder.refresh_from_db()
    assert requalification_due_on(cylinder) == datetime.date(2027, 4, 30)
    # 49 CFR 180.209(a), table 1, lists 5, 7, 10 and 12 years.
    assert refused(decide_period, cylinder, 6, reason="").keys() == {"years", "reason"}


def test_a_heel_moves_into_the_cylinder_that_took_it():
    disposable = CylinderFactory(kind="disposable", specification="DOT-39", refrigerant="R-410A")
    purchase(disposable, "1 lb")
    recovery = CylinderFactory()

    removal = remove_heel(disposable, recovery, "0.5 lb")

    assert removal.movement.transfers.get().mass_mg == entered("0.5 lb").mass_mg
    assert cylinder_contents(recovery) == {"R-410A": entered("0.5 lb").mass_mg}
    assert refrigerant_totals() == {"R-410A": 0}


def test_a_heel_is_of_a_disposable_cylinder_and_goes_into_a_refillable_one():
    disposable = CylinderFactory(kind="disposable", refrigerant="R-410A")
    purchase(disposable, "1 lb")
    another = CylinderFactory(kind="disposable")

    # 49 CFR 178.65, from memory: no refrigerant goes back into a disposable cylinder.
    assert refused(remove_heel, disposable, another, "0.5 lb")["into"].citation == "49 CFR 178.65"
    assert refused(remove_heel, CylinderFactory()).keys() == {"cylinder"}
    assert refused(remove_heel, disposable, another).keys() == {"mass"}
    assert refused(
        remove_heel, disposable, level_in_hg_vacuum=30, destination_name="", statement=" "
    ).keys() == {"level_in_hg_vacuum", "destination_name", "statement"}


def test_another_owners_refrigerant_goes_on_only_after_reclamation():
    # 40 CFR 82.154(d); 82.156(h) lets it go back to its own owner.
    cylinder, theirs = CylinderFactory(), ApplianceFactory()
    file_event(theirs, transfers=(recovered(cylinder, "5 lb"),))

    refusals = refused(file_event, ApplianceFactory(), transfers=(charged(cylinder, "1 lb"),))
    assert refusals["transfers-0-cylinder"].citation == "40 CFR 82.154(d)"
    assert refused(sell, cylinder, "1 lb")["mass"].citation == "40 CFR 82.154(d)"
    own = ApplianceFactory(site=theirs.site)
    assert file_event(own, transfers=(charged(cylinder, "1 lb"),), technician=TechnicianFactory()).event.pk


def test_two_owners_in_one_cylinder_get_nothing_back(site):
    cylinder = CylinderFactory()
    first, second = ApplianceFactory(), ApplianceFactory()
    for appliance in (first, second):
        file_event(appliance, transfers=(recovered(cylinder, "5 lb"),))

    for appliance in (first, second):
        refusals = refused(file_event, appliance, transfers=(charged(cylinder, "1 lb"),))
        assert refusals["transfers-0-cylinder"].citation == "40 CFR 82.154(d)"


def test_what_comes_back_reclaimed_may_go_to_anyone():
    cylinder = CylinderFactory(kind="refillable", refrigerant="R-410A")
    bought = purchase(cylinder, "10 lb", supplier_name="Three Rivers", supply_status="reclaimed")

    assert bought.supply_status == "reclaimed"
    assert file_event(transfers=(charged(cylinder, "1 lb"),)).event.pk
    assert sell(cylinder, "1 lb").pk


# Source: 40 CFR 82.154(d): used refrigerant goes to a new owner once it is reclaimed; recycling isn't reclamation.
def test_what_was_bought_as_recycled_goes_to_no_owner_in_the_united_states():
    cylinder = CylinderFactory(kind="refillable", refrigerant="R-410A")
    purchase(cylinder, "10 lb", supply_status="recycled", facility="Tallow Quay Recycling, Cork")

    refusals = refused(file_event, transfers=(charged(cylinder, "1 lb"),))

    assert refusals["transfers-0-cylinder"].citation == "40 CFR 82.154(d)"
    assert refused(sell, cylinder, "1 lb")["mass"].citation == "40 CFR 82.154(d)"


# Source: Regulation (EU) 2024/573, Art. 8(6): recovered gas fills equipment once it is recycled or reclaimed.
@pytest.mark.parametrize("jurisdiction", [Jurisdiction.EU, Jurisdiction.UK])
def test_what_was_bought_as_recycled_is_charged_in_europe(jurisdiction):
    there = ApplianceFactory(site=SiteFactory(jurisdiction=jurisdiction, time_zone="Europe/Berlin"))
    cylinder = supply_cylinder(supply_status="recycled")

    assert file_event(there, transfers=(charged(cylinder, "1 lb"),)).event.pk


def test_once_it_was_empty_what_is_bought_anew_counts():
    cylinder = CylinderFactory(kind="refillable", refrigerant="R-410A")
    purchase(cylinder, "10 lb", supply_status="recycled")
    ship(cylinder)
    purchase(cylinder, "10 lb", happened_on=HAPPENED_ON)

    assert file_event(transfers=(charged(cylinder, "1 lb"),)).event.pk


def test_new_refrigerant_names_no_facility_that_reclaimed_it():
    cylinder = CylinderFactory(kind="refillable", refrigerant="R-410A")

    refusals = refused(purchase, cylinder, "10 lb", facility="Tallow Quay Reclaim, 3 Tallow Quay, Cork")

    assert refusals.keys() == {"facility"}
