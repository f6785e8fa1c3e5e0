"""What a reclaimer received beyond or below what was shipped: posted once, by double entry, with a reason."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from jobs.models import ChainLink, Holder, HolderKind
from jobs.selectors.ledger import cylinder_contents, holder_balances, refrigerant_totals
from jobs.selectors.receipts import share_out, shipments_of
from jobs.services.verification import records_verify
from tests.factories import (
    HAPPENED_ON,
    ApplianceFactory,
    CylinderFactory,
    SiteFactory,
    entered,
    file_event,
    recovered,
    supply_cylinder,
)
from tests.jobs.cylinder_acts import mark_mixed, post_difference, receive, reverse, withdraw
from tests.jobs.refused import refused
from tests.jobs.test_transfer_refusals import ship

MASSES = st.dictionaries(st.text(min_size=1), st.integers(1, 10**9), min_size=1, max_size=5)


@given(total_mg=st.integers(0, 10**10), parts=MASSES)
def test_shares_sum_to_the_whole_and_keep_proportion(total_mg, parts):
    shares = share_out(total_mg, parts)

    assert sum(shares.values()) == total_mg
    whole_mg = sum(parts.values())
    assert all(abs(shares[name] * whole_mg - total_mg * parts[name]) <= whole_mg for name in parts)


def held_by(kind):
    holder = Holder.objects.get(kind=kind)
    return {name: mass_mg for (pk, name), mass_mg in holder_balances().items() if pk == holder.pk and mass_mg}


@pytest.mark.django_db
@pytest.mark.parametrize("received", ["24.5 lb", "25.5 lb"])
def test_the_firms_account_is_brought_to_its_receipt(received):
    receipt = receive(ship(supply_cylinder("25 lb")), received)

    posted = post_difference(receipt)

    assert held_by(HolderKind.RECLAIMER) == {"R-410A": entered(received).mass_mg}
    assert held_by(HolderKind.STOCK_DIFFERENCE) == {
        "R-410A": entered("25 lb").mass_mg - entered(received).mass_mg
    }
    assert set(refrigerant_totals().values()) == {0}
    assert (posted.kind, posted.receipt, posted.happened_on) == ("receipt_difference", receipt, HAPPENED_ON)
    assert list(records_verify()) == []


@pytest.mark.django_db
def test_a_difference_is_posted_once_and_with_a_reason():
    receipt = receive(ship(supply_cylinder("25 lb")), "24.5 lb")

    assert refused(post_difference, receipt, reason=" ").keys() == {"reason"}
    first = post_difference(receipt)
    assert post_difference(receipt, submission_id=first.submission_id) == first
    assert "posted before" in refused(post_difference, receipt)["receipt"].expected


@pytest.mark.django_db
def test_what_agrees_or_was_withdrawn_is_not_posted():
    agreed, withdrawn = (receive(ship(supply_cylinder("25 lb")), mass) for mass in ("25 lb", "24 lb"))
    withdraw(withdrawn)

    assert "nothing to post" in refused(post_difference, agreed)["receipt"].expected
    assert "withdrawn" in refused(post_difference, withdrawn)["receipt"].expected


@pytest.mark.django_db
def test_a_posted_receipt_is_withdrawn_after_its_difference_and_posted_anew():
    shipment = ship(supply_cylinder("25 lb"))
    receipt = receive(shipment, "24.5 lb")
    posted = post_difference(receipt)

    assert "Reverse the adjustment first" in refused(withdraw, receipt)["record"].expected
    reverse(posted)
    withdraw(receipt)
    post_difference(receive(shipment, "24.8 lb"))

    assert held_by(HolderKind.RECLAIMER) == {"R-410A": entered("24.8 lb").mass_mg}
    assert set(refrigerant_totals().values()) == {0}
    assert list(records_verify()) == []
    chain = ChainLink.objects.filter(chain=f"cylinder:{shipment.cylinder_id}", record_kind="stock_movement")
    # The purchase, the shipment, the difference, its reversal, the second difference.
    assert chain.count() == 5


@pytest.mark.django_db
def test_a_mixtures_difference_is_shared_out_as_it_was_shipped():
    site, cylinder = SiteFactory(), CylinderFactory()
    file_event(ApplianceFactory(site=site), transfers=(recovered(cylinder, "6 lb"),))
    mark_mixed(cylinder, "R-134a")
    other = ApplianceFactory(site=site, refrigerant="R-134a")
    file_event(other, transfers=(recovered(cylinder, "3 lb"),))

    post_difference(receive(ship(cylinder), "8.1 lb"))

    lost = held_by(HolderKind.STOCK_DIFFERENCE)
    # 0.9 lb are missing of 9: two thirds of them R-410A.
    assert sum(lost.values()) == entered("9 lb").mass_mg - entered("8.1 lb").mass_mg
    assert lost["R-410A"] == pytest.approx(entered("0.6 lb").mass_mg, abs=2)
    assert cylinder_contents(cylinder) == {}
    assert set(refrigerant_totals().values()) == {0}


@pytest.mark.django_db
def test_a_month_shows_shipments_until_their_receipt_has_come():
    reversed_one = ship(supply_cylinder("25 lb"))
    reverse(reversed_one)
    shipment = ship(supply_cylinder("25 lb"))
    march, april = (HAPPENED_ON.replace(month=month, day=1) for month in (3, 4))
    ends = (march.replace(day=31), april.replace(day=30))

    def seen(first_on, last_on):
        return [(row.shipment, row.difference_mg) for row in shipments_of(first_on, last_on)]

    assert seen(march, ends[0]) == [(shipment, 0)]
    assert seen(april, ends[1]) == [(shipment, 0)]
    receive(shipment, "24 lb")
    assert seen(march, ends[0]) == [(shipment, entered("24 lb").mass_mg - entered("25 lb").mass_mg)]
    assert seen(april, ends[1]) == []
