"""A cylinder goes along with what is shipped or sold in it, and comes back by a move."""

import datetime
from uuid import uuid4

import pytest

from compliance.selectors.event_form import event_background
from jobs.models import Cylinder, CylinderMove, StockMovement
from jobs.selectors.ledger import cylinder_contents, refrigerant_totals
from jobs.services.verification import records_verify
from tests.factories import (
    HAPPENED_ON,
    ApplianceFactory,
    CylinderFactory,
    TechnicianFactory,
    entered,
    supply_cylinder,
)
from tests.jobs.cylinder_acts import move, sell
from tests.jobs.cylinder_acts import reverse as reverse_movement
from tests.jobs.refused import refused
from tests.jobs.test_transfer_refusals import ship

pytestmark = pytest.mark.django_db

ALONG = {"is_with_cylinder": True, "moved_by": "Brightwater Freight"}


def place(cylinder):
    return Cylinder.objects.values_list("place", "place_note").get(pk=cylinder.pk)


def test_a_shipped_cylinder_is_at_the_reclaimer():
    cylinder = supply_cylinder("25 lb")

    shipped = ship(cylinder, **ALONG)

    went = CylinderMove.objects.get()
    assert (went.movement, went.reason, went.moved_by) == (shipped, "sent", "Brightwater Freight")
    assert place(cylinder) == ("away", "Three Rivers")
    assert list(records_verify()) == []


def test_a_cylinder_that_was_only_emptied_stays():
    cylinder = supply_cylinder("25 lb")

    ship(cylinder)

    assert not CylinderMove.objects.exists()
    assert place(cylinder) == ("shop", "")


def test_a_cylinder_is_sold_with_all_that_it_holds():
    cylinder = supply_cylinder("25 lb")

    sell(cylinder, None, **ALONG)

    assert cylinder_contents(cylinder) == {}
    assert place(cylinder) == ("away", "Quarry Lane Cooling")


@pytest.mark.parametrize("act", [ship, sell])
def test_a_cylinder_with_a_rest_in_it_does_not_go_along(act):
    refusals = refused(act, supply_cylinder("25 lb"), "10 lb", is_with_cylinder=True, moved_by="")

    assert refusals.keys() == {"is_with_cylinder", "moved_by"}
    assert "15.000 lb of R-410A would stay" in refusals["is_with_cylinder"].expected
    assert StockMovement.objects.count() == 1


def test_nothing_is_filed_where_the_move_is_refused():
    cylinder = supply_cylinder("25 lb")
    ship(cylinder, **ALONG)
    move(cylinder, "shop", reason="retired")
    late = {"happened_on": HAPPENED_ON - datetime.timedelta(days=1)}

    assert "mass" in refused(ship, cylinder, "1 lb", **late)
    assert StockMovement.objects.count() == 2


def test_the_same_form_with_and_without_the_cylinder_is_refused():
    cylinder, once = supply_cylinder("25 lb"), {"submission_id": uuid4()}
    first = ship(cylinder, **ALONG, **once)

    assert ship(cylinder, **ALONG, **once) == first
    assert refused(ship, cylinder, **once).keys() == {"is_with_cylinder"}
    assert CylinderMove.objects.count() == 1


def test_a_reversed_shipment_takes_the_move_back():
    cylinder = supply_cylinder("25 lb")
    shipped = ship(cylinder, **ALONG)

    reverse_movement(shipped)

    assert CylinderMove.objects.get().withdrawal.reason == "Filed on the wrong cylinder."
    assert place(cylinder) == ("shop", "")
    assert cylinder_contents(cylinder) == {"R-410A": entered("25 lb").mass_mg}
    assert set(refrigerant_totals().values()) == {0}
    assert list(records_verify()) == []


def test_an_emptied_cylinder_comes_back_by_a_move():
    cylinder, holder = supply_cylinder("25 lb"), TechnicianFactory()
    ship(cylinder, **ALONG)

    back = move(cylinder, "van", technician=holder, reason="came_back")

    assert (back.from_where, back.where) == ("Three Rivers", f"{holder}’s van")


def test_a_cylinder_comes_back_empty_and_to_us():
    cylinder = supply_cylinder("25 lb")
    move(cylinder, "away", firm_name="Harbor Gas")

    assert refused(move, cylinder, "shop", reason="came_back").keys() == {"reason"}
    assert refused(move, CylinderFactory(), "away", firm_name="Harbor Gas", reason="came_back").keys() == {
        "place"
    }


# A visit on Monday may reach the portal after the office has shipped its cylinder on Thursday.
@pytest.mark.parametrize(("days", "is_offered"), [(0, True), (29, True), (30, False)])
def test_a_visit_that_comes_late_still_finds_its_cylinder(days, is_offered):
    cylinder = supply_cylinder("25 lb")
    ship(cylinder, **ALONG)

    offered = event_background(ApplianceFactory(), on=HAPPENED_ON + datetime.timedelta(days=days)).cylinders

    assert (cylinder in [option.cylinder for option in offered]) is is_offered
