"""Sales, adjustments to the scale and reversals: what they need, what they move, what undoes them."""

import datetime
from dataclasses import replace

import pytest

from jobs.models import HolderKind
from jobs.selectors.ledger import cylinder_contents, holder_balances, refrigerant_totals
from jobs.selectors.stock_list import Kept, sale_kept
from jobs.selectors.weighings import standing_weighings, weighed_stock
from jobs.services.verification import records_verify
from tests.factories import CylinderFactory, charged, entered, file_event, supply_cylinder
from tests.jobs.cylinder_acts import (
    CERTIFIED_BUYER,
    adjust,
    mark_mixed,
    receive,
    reverse,
    sell,
    weigh,
    withdraw,
)
from tests.jobs.refused import refused
from tests.jobs.test_transfer_refusals import ship

pytestmark = pytest.mark.django_db

UNION_BUYER = replace(CERTIFIED_BUYER, certification_type="eu_a1", is_in_the_union=True)


def test_a_sale_keeps_the_buyers_proof():
    cylinder = supply_cylinder("25 lb")

    sale = sell(cylinder, "10 lb")

    assert sale.buyer_proof.certification_number == "U-77120"
    assert sale.transfers.get().to_holder.kind == HolderKind.BUYER
    assert cylinder_contents(cylinder) == {"R-410A": entered("25 lb").mass_mg - entered("10 lb").mass_mg}
    assert list(records_verify()) == []


# Regulation (EU) 2024/573 Art. 11(6): certified people and who employs them buy; Art. 7(3): their certificate is kept.
@pytest.mark.parametrize(
    ("changes", "fields"),
    [
        ({"certification_number": " "}, {"certification_number"}),
        ({"certification_type": "universal"}, {"certification_type"}),
        ({"basis": "reseller"}, {"basis"}),
        ({"basis": "employer"}, {"proof"}),
    ],
)
def test_a_sale_in_the_union_wants_the_buyers_certificate(changes, fields):
    refusals = refused(sell, supply_cylinder("25 lb"), buyer=replace(UNION_BUYER, **changes))

    assert refusals.keys() == fields
    assert "2024/573 Art. 11(6), 7(3)" in next(iter(refusals.values())).citation


def test_a_sale_in_the_union_is_kept_five_years():
    sale = sell(supply_cylinder("25 lb"), "10 lb", buyer=UNION_BUYER)

    assert sale.buyer_proof.certification_type == "eu_a1"
    assert sale_kept(sale) == Kept(
        sale.happened_on.replace(year=sale.happened_on.year + 5), "Regulation (EU) 2024/573 Art. 7(3)"
    )
    assert list(records_verify()) == []


# 40 CFR 82.154(c)(1): a certified technician, or who employs one and proves it; (c)(3): the invoice.
@pytest.mark.parametrize(
    ("changes", "fields"),
    [
        ({"certification_number": ""}, {"certification_number"}),
        ({"certification_type": "", "technician_name": ""}, {"certification_type", "technician_name"}),
        ({"basis": "employer"}, {"proof"}),
        ({"basis": ""}, {"basis"}),
        ({"name": " "}, {"buyer_name"}),
    ],
)
def test_a_sale_without_proof_is_refused(changes, fields):
    refusals = refused(sell, supply_cylinder(), "1 lb", replace(CERTIFIED_BUYER, **changes))

    assert refusals.keys() == fields
    assert all(refusal.citation.startswith("40 CFR 82.154(c)") for refusal in refusals.values())


def test_a_sale_needs_its_invoice_and_a_cylinder_that_holds_as_much():
    cylinder = supply_cylinder("5 lb")

    assert (
        refused(sell, cylinder, "1 lb", document_number="")["document_number"].citation
        == "40 CFR 82.154(c)(3)"
    )
    assert refused(sell, cylinder, "6 lb").keys() == {"mass"}
    assert refused(sell, CylinderFactory(), "1 lb").keys() == {"happened_on"}


@pytest.mark.parametrize("gross", ["52.2 lb", "54.5 lb"])
def test_an_adjustment_brings_the_books_to_the_scale_either_way(gross):
    cylinder = supply_cylinder("25 lb")
    weighing = weigh(cylinder, gross)

    adjustment = adjust(weighing)

    assert cylinder_contents(cylinder) == {"R-410A": weighing.net_mg}
    row = adjustment.transfers.get()
    other = row.to_holder if weighing.net_mg < entered("25 lb").mass_mg else row.from_holder
    assert other.kind == HolderKind.STOCK_DIFFERENCE
    assert refrigerant_totals() == {"R-410A": 0}
    (stock,) = weighed_stock(standing_weighings())
    assert (stock.adjustment, stock.difference_mg) == (adjustment, weighing.net_mg - entered("25 lb").mass_mg)


def test_an_empty_cylinder_that_weighs_more_gains_what_it_is_dedicated_to():
    cylinder = CylinderFactory(refrigerant="R-32")

    adjust(weigh(cylinder, "29 lb"))

    assert cylinder_contents(cylinder).keys() == {"R-32"}
    assert refused(adjust, weigh(CylinderFactory(), "29 lb")).keys() == {"weighing"}


def test_an_adjustment_is_refused_where_it_can_not_be_true():
    cylinder = supply_cylinder("25 lb")
    weighing = weigh(cylinder, "52 lb")

    assert refused(adjust, weighing, reason=" ").keys() == {"reason"}
    adjust(weighing)
    assert refused(adjust, weighing).keys() == {"weighing"}
    withdrawn = weigh(cylinder, "51 lb")
    withdraw(withdrawn)
    assert refused(adjust, withdrawn).keys() == {"weighing"}
    mark_mixed(cylinder, "R-32")
    assert "mixture" in refused(adjust, weigh(cylinder, "51 lb"))["weighing"].expected


def test_an_adjustment_that_later_records_contradict_is_refused():
    cylinder = supply_cylinder("25 lb")
    weighing = weigh(cylinder, "31 lb", happened_on=datetime.date(2026, 2, 1))
    file_event(transfers=(charged(cylinder, "7 lb"),))

    assert "amend it first" in refused(adjust, weighing)["weighing"].expected


def test_an_adjusted_weighing_is_not_withdrawn_before_the_adjustment():
    weighing = weigh(supply_cylinder("25 lb"), "52 lb")
    adjustment = adjust(weighing)

    assert refused(withdraw, weighing).keys() == {"record"}
    reverse(adjustment)
    assert withdraw(weighing).pk


def test_a_reversal_puts_everything_back_and_keeps_both_records():
    cylinder = supply_cylinder("25 lb")
    before = holder_balances()
    sale = sell(cylinder, "10 lb")

    reversal = reverse(sale)

    balances = {key: mass_mg for key, mass_mg in holder_balances().items() if mass_mg}
    assert balances == before
    assert (reversal.reverses, sale.reversed_by) == (sale, reversal)
    assert refused(reverse, sale).keys() == {"movement"}
    assert refused(reverse, reversal).keys() == {"movement"}
    assert list(records_verify()) == []


def test_what_later_records_rest_on_is_not_reversed():
    cylinder = supply_cylinder("25 lb")
    purchase = cylinder.stock_movements.get()
    file_event(transfers=(charged(cylinder, "7 lb"),))

    assert "amend it first" in refused(reverse, purchase)["movement"].expected
    assert refused(reverse, purchase, reason="").keys() == {"reason", "movement"}


def test_a_shipment_with_a_receipt_is_not_reversed():
    shipment = ship(supply_cylinder("25 lb"))
    receipt = receive(shipment, "25 lb")

    assert "Withdraw the receipt" in refused(reverse, shipment)["movement"].expected
    withdraw(receipt)
    assert reverse(shipment).pk
