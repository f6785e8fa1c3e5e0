"""What weighed transfers are refused for: masses, cylinders, refrigerants and owners."""

import datetime
from dataclasses import replace

import pytest

from jobs.models import CylinderKind, Transfer
from jobs.physics.fill_limits import max_net_mg
from jobs.selectors.cylinders import fill_room, requalification_due_on
from jobs.selectors.ledger import cylinder_contents
from jobs.services.entries import EnteredMass
from jobs.services.stock import purchase_record, shipment_record
from tests.factories import (
    BOOKS_BEGAN_ON,
    FILED_AT,
    ApplianceFactory,
    CylinderFactory,
    SiteFactory,
    UserFactory,
    charged,
    entered,
    file_event,
    recovered,
    supply_cylinder,
)
from tests.jobs.refused import refused

pytestmark = pytest.mark.django_db

ONE_MG = EnteredMass("0.000001", "kg", 1)


def milligrams(mass_mg):
    return EnteredMass.parse(str(mass_mg / 1000), "g")


def purchase(cylinder, mass, **fields):
    values = {
        "by": UserFactory(),
        "supplier_name": "Harbor Gas",
        "refrigerant": "R-410A",
        "happened_on": BOOKS_BEGAN_ON,
        "filed_at": FILED_AT,
        **fields,
    }
    return purchase_record(cylinder=cylinder, mass=entered(mass), **values)


def ship(cylinder, mass=None, **fields):
    values = {
        "by": UserFactory(),
        "destination_kind": "reclaimer",
        "destination_name": "Three Rivers",
        "happened_on": datetime.date(2026, 3, 2),
        "filed_at": FILED_AT,
        **fields,
    }
    return shipment_record(cylinder=cylinder, mass=entered(mass) if mass else None, **values)


def test_mass_of_zero_is_refused():
    refusals = refused(file_event, transfers=(charged(supply_cylinder(), "0 lb"),))

    assert refusals.keys() == {"transfers-0-mass"}


def test_negative_mass_is_refused():
    minus = replace(charged(supply_cylinder()), mass=EnteredMass("-7", "lb", -3_175_147))

    assert refused(file_event, transfers=(minus,)).keys() == {"transfers-0-mass"}


def test_mass_that_is_not_the_figure_typed_is_refused():
    wrong = replace(charged(supply_cylinder()), mass=EnteredMass("7", "lb", 7_000_000))

    assert refused(file_event, transfers=(wrong,)).keys() == {"transfers-0-mass"}


# 20 full charges of 60 lb are 1200 lb, 5 of them 300 lb; common practice, no source.
@pytest.mark.parametrize(
    ("transfer", "most", "more"),
    [(charged, "1200 lb", "1200.01 lb"), (recovered, "300 lb", "300.01 lb")],
)
def test_absurd_mass_is_refused(transfer, most, more):
    others = {"origin": "other_contractor", "contractor_name": "Drayton", "technician": None}

    assert refused(file_event, transfers=(transfer(None, more),), **others).keys() == {"transfers-0-mass"}
    assert file_event(transfers=(transfer(None, most),), **others).event.pk


@pytest.mark.parametrize(
    ("fields", "field"),
    [
        ({"direction": "sideways"}, "direction"),
        ({"reason": "boredom"}, "reason"),
        ({"reason": "disposal"}, "reason"),
        ({"refrigerant": "R-0"}, "refrigerant"),
        ({"leak": "new-1"}, "leak"),
        ({"cylinder": None}, "cylinder"),
    ],
)
def test_transfer_is_refused_at_the_field_that_is_wrong(fields, field):
    transfer = replace(charged(supply_cylinder()), **fields)

    assert f"transfers-0-{field}" in refused(file_event, transfers=(transfer,))


def test_other_contractor_uses_no_cylinder_of_ours():
    refusals = refused(
        file_event,
        origin="other_contractor",
        contractor_name="Drayton",
        technician=None,
        transfers=(charged(supply_cylinder()),),
    )

    assert refusals.keys() == {"transfers-0-cylinder"}


def test_cylinder_is_not_drawn_below_empty():
    cylinder = supply_cylinder("7 lb")
    all_of_it = charged(cylinder, "7 lb")

    refusals = refused(file_event, transfers=(all_of_it, replace(all_of_it, mass=ONE_MG)))

    assert refusals.keys() == {"transfers-1-mass"}
    assert cylinder.serial_number in refusals["transfers-1-mass"].expected
    assert file_event(transfers=(all_of_it,)).event.pk
    assert cylinder_contents(cylinder) == {}


def test_cylinder_gives_nothing_before_it_was_bought():
    day = datetime.date(2025, 1, 1)

    refusals = refused(file_event, happened_on=day, transfers=(charged(supply_cylinder()),))

    assert refusals.keys() == {"transfers-0-mass"}


def test_late_record_does_not_empty_a_cylinder_that_later_records_drew_on():
    cylinder = supply_cylinder("10 lb")
    file_event(happened_on=datetime.date(2026, 3, 1), transfers=(charged(cylinder, "6 lb"),))

    late = {"happened_on": datetime.date(2026, 2, 1)}
    refusals = refused(file_event, transfers=(charged(cylinder, "5 lb"),), **late)

    assert "2026-03-01" in refusals["transfers-0-mass"].expected
    assert file_event(transfers=(charged(cylinder, "4 lb"),), **late).event.pk


def test_transfers_are_weighed_in_the_order_given():
    appliance, cylinder = ApplianceFactory(), CylinderFactory()
    out, back = recovered(cylinder, "8 lb"), charged(cylinder, "8 lb")

    assert refused(file_event, appliance, transfers=(back, out)).keys() == {"transfers-0-mass"}
    assert file_event(appliance, transfers=(out, back)).event.transfers.count() == 2


def test_cylinder_is_filled_to_its_limit_and_no_further():
    cylinder = CylinderFactory()
    limit_mg = max_net_mg("R-410A", cylinder.water_capacity_mg).max_net_mg
    fill = replace(recovered(cylinder), mass=milligrams(limit_mg))

    refusals = refused(file_event, transfers=(replace(fill, mass=milligrams(limit_mg + 1)),))
    file_event(transfers=(fill,))

    assert refusals.keys() == {"transfers-0-mass"}
    assert fill_room(cylinder, "R-410A") == 0
    again = replace(fill, mass=ONE_MG)
    assert refused(file_event, transfers=(again,)).keys() == {"transfers-0-mass"}


# R-23's critical temperature, 26.1 °C, is below 60 °C and 49 CFR 173.304a(a)(2) lists no filling density for it:
# no limit is known, and only what the volume can't hold at all is refused (2.2 times 47.7 lb of water).
def test_cylinder_without_a_known_limit_is_bounded_by_its_volume():
    appliance = ApplianceFactory(refrigerant="R-23")
    cylinder = CylinderFactory()

    assert fill_room(cylinder, "R-23") is None
    refusals = refused(file_event, appliance, transfers=(recovered(cylinder, "105 lb"),))
    assert refusals.keys() == {"transfers-0-mass"}
    assert "no safe fill" in refusals["transfers-0-mass"].expected
    assert file_event(appliance, transfers=(recovered(cylinder, "100 lb"),)).event.pk


def test_refrigerant_of_the_transfer_is_the_appliances():
    refusals = refused(
        file_event, transfers=(charged(supply_cylinder(refrigerant="R-22"), refrigerant="R-22"),)
    )

    assert "R-410A" in refusals["transfers-0-refrigerant"].expected


def test_cylinder_that_holds_another_refrigerant_gives_none():
    refusals = refused(file_event, transfers=(charged(supply_cylinder(refrigerant="R-22")),))

    assert refusals.keys() == {"transfers-0-cylinder"}


@pytest.mark.parametrize("reason", ["dedicated", "holds"])
def test_refrigerants_are_not_mixed(reason):
    cylinder = CylinderFactory(refrigerant="R-22" if reason == "dedicated" else "")
    if reason == "holds":
        file_event(ApplianceFactory(refrigerant="R-22"), transfers=(recovered(cylinder, "1 lb"),))

    assert refused(file_event, transfers=(recovered(cylinder, "1 lb"),)).keys() == {"transfers-0-cylinder"}


# DOT-39 cylinders are never refilled (49 CFR 178.65; from memory).
def test_disposable_cylinder_is_not_filled():
    cylinder = CylinderFactory(kind=CylinderKind.DISPOSABLE)
    purchase(cylinder, "5 lb")

    refusals = refused(file_event, transfers=(recovered(cylinder, "1 lb"),))

    assert refusals["transfers-0-cylinder"].citation == "49 CFR 178.65"
    assert refused(purchase, cylinder, "5 lb").keys() == {"refrigerant"}
    assert file_event(transfers=(charged(cylinder, "5 lb"),)).event.pk


# Requalified in April 2021, due five years later; the marked month counts to its end (common practice, no source).
@pytest.mark.parametrize(("happened_on", "is_due"), [("2026-04-30", False), ("2026-05-01", True)])
def test_cylinder_past_requalification_is_not_filled(happened_on, is_due):
    cylinder = CylinderFactory(requalified_on=datetime.date(2021, 4, 12))
    visit = {
        "happened_on": datetime.date.fromisoformat(happened_on),
        "filed_at": datetime.datetime(2026, 6, 1, tzinfo=datetime.UTC),
        "transfers": (recovered(cylinder, "1 lb"),),
    }

    if is_due:
        refusals = refused(file_event, **visit)
        assert refusals["transfers-0-cylinder"].citation == "49 CFR 180.205(c)"
    else:
        assert file_event(**visit).event.pk


def test_cylinder_past_requalification_may_be_emptied():
    cylinder = supply_cylinder(requalified_on=datetime.date(2019, 1, 1))

    assert file_event(transfers=(charged(cylinder),)).event.pk


def test_requalification_of_february_is_due_at_the_end_of_february():
    cylinder = CylinderFactory.build(
        requalified_on=datetime.date(2023, 2, 10), requalification_period_years=5
    )

    assert requalification_due_on(cylinder) == datetime.date(2028, 2, 29)


def test_cylinder_without_a_test_date_is_not_filled():
    refusals = refused(file_event, transfers=(recovered(CylinderFactory(requalified_on=None), "1 lb"),))

    assert refusals.keys() == {"transfers-0-cylinder"}


class TestOwners:
    """40 CFR 82.154(d): used refrigerant goes to a new owner only after reclamation; 82.156(h): back to its own."""

    @pytest.fixture
    def site(self):
        return SiteFactory()

    @pytest.fixture
    def cylinder(self, site):
        cylinder = CylinderFactory(water_capacity="120 lb")
        file_event(ApplianceFactory(site=site), transfers=(recovered(cylinder, "10 lb"),))
        return cylinder

    def test_recovered_refrigerant_is_not_charged_into_another_owners_appliance(self, cylinder):
        refusals = refused(file_event, transfers=(charged(cylinder, "1 lb"),))

        assert refusals.keys() == {"transfers-0-cylinder"}
        assert refusals["transfers-0-cylinder"].citation == "40 CFR 82.154(d)"

    def test_recovered_refrigerant_goes_back_into_any_appliance_of_its_owner(self, cylinder, site):
        other_site = SiteFactory(customer=site.customer)

        assert file_event(ApplianceFactory(site=site), transfers=(charged(cylinder, "1 lb"),)).event.pk
        assert file_event(ApplianceFactory(site=other_site), transfers=(charged(cylinder, "1 lb"),)).event.pk

    @pytest.mark.parametrize("is_recycled", [False, True])
    def test_it_goes_into_an_mvac_like_appliance_of_its_owner_only_recycled(
        self, cylinder, site, is_recycled
    ):
        # 40 CFR 82.156(h): "unless the appliance is an MVAC or MVAC-like appliance".
        cab = ApplianceFactory(site=site, is_mvac_like=True, full_charge="4 lb")
        visit = {"transfers": (charged(cylinder, "1 lb", is_recycled=is_recycled),)}

        if is_recycled:
            assert file_event(cab, **visit).event.pk
            return
        refusals = refused(file_event, cab, **visit)
        assert refusals.keys() == {"transfers-0-cylinder"}
        assert refusals["transfers-0-cylinder"].citation == "40 CFR 82.156(h)"

    def test_mixing_with_virgin_refrigerant_makes_it_nobody_elses(self, cylinder):
        purchase(cylinder, "10 lb")

        assert refused(file_event, transfers=(charged(cylinder, "1 lb"),)).keys() == {"transfers-0-cylinder"}

    def test_two_owners_refrigerants_go_to_neither(self, cylinder, site):
        other = ApplianceFactory()
        file_event(other, transfers=(recovered(cylinder, "1 lb"),))

        for appliance in (other, ApplianceFactory(site=site)):
            transfers = (charged(cylinder, "1 lb"),)
            assert refused(file_event, appliance, transfers=transfers).keys() == {"transfers-0-cylinder"}

    def test_emptied_cylinder_starts_anew(self, cylinder):
        ship(cylinder)
        purchase(cylinder, "10 lb", happened_on=datetime.date(2026, 3, 2))

        assert file_event(transfers=(charged(cylinder, "1 lb"),)).event.pk

    def test_heel_that_stays_behind_keeps_its_owner(self, cylinder):
        ship(cylinder, "9.99 lb")
        purchase(cylinder, "10 lb", happened_on=datetime.date(2026, 3, 2))

        assert refused(file_event, transfers=(charged(cylinder, "1 lb"),)).keys() == {"transfers-0-cylinder"}

    def test_recovering_and_charging_on_one_visit_is_returning_it(self, cylinder, site):
        transfers = (recovered(cylinder, "2 lb"), charged(cylinder, "12 lb"))

        assert file_event(ApplianceFactory(site=site), transfers=transfers).event.pk

    def test_law_of_the_united_states_is_not_asked_elsewhere(self, cylinder):
        berlin = ApplianceFactory(site=SiteFactory(jurisdiction="eu"))

        # The law there asks that it be recycled, whoever owned it (Regulation (EU) 2024/573 Art. 8(6)).
        assert file_event(berlin, transfers=(charged(cylinder, "1 lb", is_recycled=True),)).event.pk


def test_nothing_is_moved_by_a_refused_visit():
    supply = supply_cylinder("10 lb")

    refused(file_event, transfers=(charged(supply, "1 lb"), charged(supply, "10 lb")))

    assert Transfer.objects.filter(event__isnull=False).count() == 0
