"""The shipping paper of a shipment: what it says by the records, and what it leaves to the shipper."""

import datetime
from uuid import uuid4

import pytest

from jobs.models import StockMovement
from jobs.selectors.shipping_papers import shipments, shipping_paper
from jobs.services.verification import records_verify
from tests.factories import FILED_AT, HAPPENED_ON, entered, supply_cylinder
from tests.jobs.cylinder_acts import mark_mixed
from tests.jobs.refused import refused
from tests.jobs.test_transfer_refusals import ship

pytestmark = pytest.mark.django_db

A_DAY = datetime.timedelta(days=1)
ALONG = {"is_with_cylinder": True, "moved_by": "Brightwater Freight"}
SAID = {
    "consignee_address": "9 Kiln Street, Alder Cove CA 95999",
    "emergency_telephone": "+1 555 010 0140, our own desk",
}


def paper_of(shipped):
    return shipping_paper(shipments().get(pk=shipped.pk))


def test_a_paper_says_what_was_shipped_to_whom_and_in_what():
    cylinder = supply_cylinder("25 lb")

    paper = paper_of(ship(cylinder, document_number="SHIP-1", **SAID, **ALONG))

    (line,) = paper.lines
    assert (paper.number, paper.consignee, paper.carrier) == ("SHIP-1", "Three Rivers", "Brightwater Freight")
    assert (paper.consignee_address, paper.emergency_telephone) == tuple(SAID.values())
    assert line.description.identification_number == "UN3163"
    assert (line.net_mg, line.gross_mg) == (
        entered("25 lb").mass_mg,
        cylinder.tare_mg + entered("25 lb").mass_mg,
    )
    # 49 CFR 172.201(e): two years, from memory.
    assert paper.kept_until == datetime.date(2028, 3, 2)


def test_shipments_of_one_number_day_and_receiver_stand_on_one_paper():
    together = [ship(supply_cylinder("25 lb"), document_number="SHIP-2", **ALONG) for _ in range(2)]
    ship(supply_cylinder("5 lb"), document_number="SHIP-2", destination_name="Tern Reclaim", **ALONG)
    ship(supply_cylinder("5 lb"), document_number="SHIP-3", **ALONG)

    papers = [paper_of(each) for each in together]

    assert [len(paper.lines) for paper in papers] == [2, 2]
    assert papers[0].masses == {"R-410A": 2 * entered("25 lb").mass_mg}


def test_a_shipment_without_a_number_has_one_of_its_own_and_its_own_paper():
    first, second = (ship(supply_cylinder("25 lb"), **ALONG) for _ in range(2))

    assert paper_of(first).number != paper_of(second).number
    assert len(paper_of(first).lines) == 1


def test_what_stays_here_leaves_the_package_open():
    paper = paper_of(ship(supply_cylinder("25 lb"), "10 lb"))

    assert paper.lines[0].gross_mg is None
    assert not paper.lines[0].is_package


def test_a_mixture_is_described_by_the_shipper():
    cylinder = supply_cylinder("25 lb")
    mark_mixed(cylinder)

    paper = paper_of(ship(cylinder, **ALONG))

    assert paper.lines[0].description is None
    assert paper.may_burn
    assert paper.lines[0].mark


def test_a_mark_that_came_later_says_nothing_of_what_had_left():
    cylinder = supply_cylinder("25 lb")
    shipped = ship(cylinder, "10 lb")
    day_after = {"happened_on": HAPPENED_ON + A_DAY, "filed_at": FILED_AT + A_DAY}
    mark_mixed(cylinder, **day_after)

    assert paper_of(shipped).lines[0].description is not None


def test_the_next_paper_takes_over_address_and_telephone():
    ship(supply_cylinder("25 lb"), **SAID, **ALONG)

    again = ship(supply_cylinder("25 lb"), **ALONG)
    elsewhere = ship(supply_cylinder("25 lb"), destination_name="Tern Reclaim", **ALONG)

    assert (again.consignee_address, again.emergency_telephone) == tuple(SAID.values())
    assert (elsewhere.consignee_address, elsewhere.emergency_telephone) == ("", SAID["emergency_telephone"])
    assert list(records_verify()) == []


def test_the_same_form_sent_twice_is_filed_once_whether_or_not_it_says_the_address():
    ship(supply_cylinder("25 lb"), **SAID, **ALONG)
    cylinder, submission_id = supply_cylinder("25 lb"), uuid4()

    first = ship(cylinder, submission_id=submission_id, **ALONG)

    assert ship(cylinder, submission_id=submission_id, **ALONG) == first
    other = {"consignee_address": "1 Elsewhere Lane"}
    assert refused(ship, cylinder, submission_id=submission_id, **other, **ALONG).keys() == {
        "consignee_address"
    }


def test_a_telephone_without_its_area_code_is_refused():
    refusals = refused(ship, supply_cylinder("25 lb"), emergency_telephone="ask Priya, 0140", **ALONG)

    assert refusals["emergency_telephone"].citation == "49 CFR 172.604"
    assert StockMovement.objects.count() == 1
