"""The register of cylinders: what is kept, what is refused, and that changes leave a history."""

import datetime
from dataclasses import replace

import pytest

from jobs.models import CylinderKind, Holder
from jobs.selectors.ledger import cylinder_contents, refrigerant_totals
from jobs.services.cylinders import cylinder_change, cylinder_register
from jobs.services.entries import CylinderEntry
from tests.factories import FILED_AT, UserFactory, entered, supply_cylinder
from tests.jobs.refused import refused

pytestmark = pytest.mark.django_db

CYLINDER = CylinderEntry(
    serial_number="FO-1",
    kind=CylinderKind.REFILLABLE,
    specification="DOT-4BW260",
    water_capacity=entered("47.7 lb"),
    tare=entered("28 lb"),
    requalified_on=datetime.date(2024, 4, 1),
    refrigerant="R-404A",
    contents=entered("10 lb"),
    contents_on=datetime.date(2026, 3, 1),
)


def register_cylinder(**fields):
    return cylinder_register(by=UserFactory(), entry=replace(CYLINDER, **fields), filed_at=FILED_AT)


def test_cylinder_is_registered_with_what_it_holds():
    cylinder = register_cylinder()

    assert cylinder_contents(cylinder) == {"R-404A": entered("10 lb").mass_mg}
    assert cylinder_contents(cylinder, on=datetime.date(2026, 2, 28)) == {}
    assert refrigerant_totals() == {"R-404A": 0}


def test_cylinder_is_refused_with_all_that_is_wrong_with_it():
    refusals = refused(
        register_cylinder,
        refrigerant="R-9999",
        tare=entered("0 lb"),
        water_capacity=entered("0 lb"),
        requalified_on=datetime.date(2026, 3, 3),
        requalification_period_years=0,
    )

    assert refusals.keys() == {
        *("refrigerant", "tare", "water_capacity"),
        *("requalified_on", "requalification_period_years"),
    }


def test_cylinder_is_refused_a_period_that_its_specification_does_not_have():
    # 49 CFR 180.209(a), table 1, lists 5, 7, 10 and 12 years for specification 4BA.
    kept = register_cylinder(kind="refillable", specification="DOT-4BA400", requalification_period_years=12)
    assert kept.requalification_period_years == 12
    for years in (6, 9000):
        fields = {"specification": "DOT-4BA400", "requalification_period_years": years}
        refusals = refused(register_cylinder, serial_number="FO-2", kind="refillable", **fields)
        assert refusals["requalification_period_years"].expected.startswith("Expected 5, 7, 10 or 12 years")


def test_recovery_cylinder_has_five_years_until_the_officer_says_otherwise():
    # Our reading of 49 CFR 180.203 and 180.209(e).
    fields = {"kind": "recovery", "specification": "DOT-4BA400", "requalification_period_years": 10}

    assert refused(register_cylinder, **fields).keys() == {"requalification_period_years"}


def test_specification_39_is_registered_as_disposable_alone():
    # 49 CFR 178.65, from memory.
    assert refused(register_cylinder, kind="recovery", specification="DOT-39").keys() == {"kind"}
    assert register_cylinder(kind="disposable", specification="DOT-39").pk


# 50 lb of water are 22.75 L. R-410A fills them as liquid at 55 °C with 43 lb, and a recovery cylinder is to have room
# at 60 °C, 41 lb (865 and 815 kg/m³; ASHRAE Handbook Fundamentals, chapter 30, from memory).
@pytest.mark.parametrize(
    ("kind", "takes", "refuses"),
    [("refillable", "43 lb", "44 lb"), ("disposable", "43 lb", "44 lb"), ("recovery", "40 lb", "42 lb")],
)
def test_cylinder_is_refused_when_it_came_filled_above_its_limit(kind, takes, refuses):
    cylinder = {"kind": kind, "refrigerant": "R-410A", "water_capacity": entered("50 lb")}

    refusals = refused(register_cylinder, **cylinder, contents=entered(refuses))

    assert refusals.keys() == {"contents"}
    assert "overfilled" in refusals["contents"].expected
    assert refusals["contents"].citation == "49 CFR 173.304a"
    assert cylinder_contents(register_cylinder(**cylinder, contents=entered(takes)))


# 47.7 lb of water fill it; R-404A as liquid at 55 °C fills it with 41 lb (858 kg/m³, reckoned with CoolProp).
@pytest.mark.parametrize(
    ("fields", "field"),
    [
        ({"contents": entered("42 lb")}, "contents"),
        ({"refrigerant": ""}, "refrigerant"),
        ({"contents_on": datetime.date(2026, 3, 3)}, "contents_on"),
        ({"contents_on": datetime.date(1899, 12, 31)}, "contents_on"),
        ({"contents": entered("0 lb")}, "contents"),
    ],
)
def test_cylinder_is_refused_when_it_cannot_hold_what_is_stated(fields, field):
    assert field in refused(register_cylinder, **fields)
    assert Holder.objects.count() == 0


def test_cylinder_change_keeps_the_former_details():
    cylinder = register_cylinder()

    cylinder_change(by=UserFactory(), cylinder=cylinder, place="van", tare=entered("28.2 lb"))

    assert [record.tare_entered for record in cylinder.history.all()] == ["28.2", "28"]


def test_cylinder_is_not_dedicated_to_another_refrigerant_while_it_holds_one():
    refusals = refused(cylinder_change, by=UserFactory(), cylinder=register_cylinder(), refrigerant="R-410A")

    assert "R-404A" in refusals["refrigerant"].expected


def test_supply_cylinder_of_the_factories_holds_what_was_bought():
    assert cylinder_contents(supply_cylinder("25 lb")) == {"R-410A": entered("25 lb").mass_mg}
