"""Where a cylinder went, what it weighed, what a reclaimer received of it, and what was filed by mistake."""

import datetime
from uuid import uuid4

import pytest

from jobs.models import ChainLink, Cylinder
from jobs.selectors.cylinder_life import weighing_in_words
from jobs.selectors.ledger import cylinder_contents
from jobs.selectors.weighings import standing_weighings, usual_scale, weighed_stock
from jobs.services.verification import records_verify
from tests.factories import (
    FILED_AT,
    HAPPENED_ON,
    CylinderFactory,
    ScaleFactory,
    SiteFactory,
    TechnicianFactory,
    UserFactory,
    charged,
    entered,
    file_event,
    supply_cylinder,
)
from tests.jobs.cylinder_acts import move, receive, weigh, withdraw
from tests.jobs.refused import refused
from tests.jobs.test_instruments import calibrated
from tests.jobs.test_transfer_refusals import ship

pytestmark = pytest.mark.django_db

DAY_BEFORE = HAPPENED_ON - datetime.timedelta(days=1)


def place(cylinder):
    return Cylinder.objects.values_list("place", "place_note").get(pk=cylinder.pk)


def test_a_move_says_where_from_and_where_to():
    cylinder, technician, site = CylinderFactory(), TechnicianFactory(), SiteFactory()

    first = move(cylinder, "van", technician=technician)
    second = move(cylinder, "site", site=site)

    assert (first.from_where, first.where) == ("Shop", f"{technician}’s van")
    assert (second.from_where, second.where) == (f"{technician}’s van", str(site))
    assert place(cylinder) == ("site", str(site))


def test_a_move_to_where_it_is_already_is_refused():
    cylinder, technician = CylinderFactory(), TechnicianFactory()
    move(cylinder, "van", technician=technician)

    refusal = refused(move, cylinder, "van", technician=technician)["place"]

    assert refusal.expected == f"Expected another place: cylinder {cylinder} is there already."
    assert move(cylinder, "van", technician=technician, reason="came_back").pk
    assert move(cylinder, "van", technician=TechnicianFactory()).pk


def test_an_earlier_move_filed_late_does_not_change_where_it_is():
    cylinder = CylinderFactory()
    move(cylinder, "away", firm_name="Harbor Gas")

    move(cylinder, "van", technician=TechnicianFactory(), happened_on=DAY_BEFORE)

    assert place(cylinder) == ("away", "Harbor Gas")


def test_a_withdrawn_move_leaves_the_cylinder_where_it_was():
    cylinder = CylinderFactory(place="van", place_note="Van 2")
    mistaken = move(cylinder, "away", firm_name="Harbor Gas")

    withdraw(mistaken)

    assert place(cylinder) == ("van", "Van 2")
    assert refused(withdraw, mistaken).keys() == {"record"}


@pytest.mark.parametrize(("to", "field"), [("van", "technician"), ("site", "site"), ("away", "firm_name")])
def test_a_move_names_which_van_site_or_firm(to, field):
    assert refused(move, CylinderFactory(), to).keys() == {field}


def test_a_move_needs_who_moved_it_and_a_day_that_has_been():
    tomorrow = HAPPENED_ON + datetime.timedelta(days=1)

    refusals = refused(
        move, CylinderFactory(), "site", site=SiteFactory(), moved_by=" ", happened_on=tomorrow
    )

    assert refusals.keys() == {"moved_by", "happened_on"}


def test_a_cylinder_with_contents_is_not_returned_empty():
    cylinder = supply_cylinder("3 lb")

    refusals = refused(move, cylinder, "away", firm_name="Harbor Gas", reason="returned_empty")

    assert "holds R-410A" in refusals["reason"].expected


def test_a_retired_cylinder_takes_nothing_and_goes_nowhere():
    cylinder = CylinderFactory()
    move(cylinder, reason="retired")

    assert refused(move, cylinder, "site", site=SiteFactory()).keys() == {"happened_on"}


def test_a_form_sent_twice_is_filed_once_and_never_with_other_contents():
    cylinder, once, by = CylinderFactory(), uuid4(), SiteFactory().pk and TechnicianFactory()
    fields = {"submission_id": once, "technician": by}

    first = move(cylinder, "van", **fields)

    assert move(cylinder, "van", **fields).pk == first.pk
    assert refused(move, cylinder, "van", moved_by="Somebody else", **fields).keys() == {"moved_by"}


def test_a_weighing_stands_beside_the_books_and_changes_none():
    cylinder = supply_cylinder("25 lb")
    file_event(transfers=(charged(cylinder, "7 lb"),))

    weighing = weigh(cylinder, "45.6 lb")

    (stock,) = weighed_stock([weighing])
    # 28 lb of tare are 12 700 586 mg; 45.6 lb gross less that are 17.6 lb, and the books say 18 lb.
    assert stock.book == {"R-410A": entered("25 lb").mass_mg - entered("7 lb").mass_mg}
    assert stock.difference_mg == pytest.approx(-entered("0.4 lb").mass_mg, abs=2)
    assert not stock.is_within_uncertainty
    assert cylinder_contents(cylinder) == stock.book


def test_a_weighing_counts_what_was_filed_before_it_that_day():
    cylinder = supply_cylinder("25 lb")
    weighing = weigh(cylinder, "53 lb")
    later = weighing.filed_at + datetime.timedelta(hours=2)
    file_event(transfers=(charged(cylinder, "7 lb"),), filed_at=later)

    (stock,) = weighed_stock(standing_weighings())

    assert stock.book == {"R-410A": entered("25 lb").mass_mg}
    assert stock.is_within_uncertainty


@pytest.mark.parametrize(
    ("calibrated_on", "words"),
    [
        (None, "with no calibration on record"),
        ("2026-01-10", "calibrated until 2027-01-10"),
        ("2025-01-10", "whose calibration had run out on 2026-01-10"),
    ],
)
def test_a_weighing_says_how_its_scale_was_calibrated(calibrated_on, words):
    scale = ScaleFactory()
    if calibrated_on:
        day = datetime.date.fromisoformat(calibrated_on)
        calibrated(scale, calibrated_on, due_on=day.replace(year=day.year + 1))

    weigh(supply_cylinder("25 lb"), "53 lb", scale=scale)

    (stock,) = weighed_stock(standing_weighings())
    assert f"on {scale}, {words}; the books gave" in weighing_in_words(stock)


def test_the_scale_of_somebodys_last_weighing_is_offered_again():
    first, second, person = ScaleFactory(), ScaleFactory(), UserFactory()
    for day, scale in enumerate((first, second, None)):
        filed_at = FILED_AT + datetime.timedelta(days=day)
        weigh(supply_cylinder("25 lb"), "53 lb", scale=scale, by=person, filed_at=filed_at)

    assert usual_scale(person) == second
    assert usual_scale(UserFactory()) is None


def test_a_reading_below_the_tare_or_beyond_the_cylinder_is_refused():
    cylinder = CylinderFactory()

    # 47.7 lb of water capacity take at most 2.2 times that of any liquid: 104.9 lb above a tare of 28 lb.
    assert refused(weigh, cylinder, "27.8 lb").keys() == {"gross"}
    assert refused(weigh, cylinder, "140 lb").keys() == {"gross"}
    assert weigh(cylinder, "27.9 lb").pk


def test_a_receipt_shows_what_was_lost_on_the_way():
    cylinder = supply_cylinder("25 lb")
    shipment = ship(cylinder, document_number="BOL-9")

    receipt = receive(shipment, "24.5 lb")

    assert cylinder_contents(cylinder) == {}
    assert shipment.receipts.get() == receipt
    assert refused(receive, shipment, "24 lb").keys() == {"shipment"}
    withdraw(receipt)
    assert receive(shipment, "24 lb").pk


def test_a_receipt_is_of_a_shipment_and_not_before_it():
    cylinder = supply_cylinder("25 lb")
    purchase = cylinder.stock_movements.get()

    assert "shipment" in refused(receive, purchase, "24 lb")
    assert refused(receive, ship(cylinder), "24 lb", happened_on=DAY_BEFORE).keys() == {"happened_on"}


def test_every_record_stands_in_the_cylinders_chain():
    cylinder = supply_cylinder("25 lb")
    shipment = ship(cylinder)
    withdraw(move(cylinder, "away", firm_name="Harbor Gas"))
    weigh(cylinder, "28 lb")
    receive(shipment, "25 lb")

    kinds = ChainLink.objects.filter(chain=f"cylinder:{cylinder.pk}").values_list("record_kind", flat=True)

    assert list(kinds) == [
        *("stock_movement", "stock_movement", "cylinder_move", "withdrawal"),
        *("cylinder_weighing", "shipment_receipt"),
    ]
    assert list(records_verify()) == []
