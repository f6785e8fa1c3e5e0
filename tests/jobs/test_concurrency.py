"""Several people filing at one moment: nothing is overdrawn, doubled or locked up, on either database."""

import threading
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from uuid import uuid4

import pytest
from django.db import connection, connections

from jobs.errors import SubmissionRefused
from jobs.models import ChainLink, ServiceEvent, StockMovement
from jobs.selectors.ledger import cylinder_contents, refrigerant_totals
from jobs.services.events import service_event_amend, service_event_file
from jobs.services.verification import records_verify
from jobs.signals import service_event_filed
from tests.factories import (
    FILED_AT,
    ApplianceFactory,
    CylinderFactory,
    TechnicianFactory,
    UserFactory,
    charged,
    entered,
    recovered,
    submission,
    supply_cylinder,
)
from tests.jobs.cylinder_acts import adjust, move, remove_heel, reverse, sell, weigh
from tests.jobs.test_transfer_refusals import purchase, ship

pytestmark = pytest.mark.django_db(transaction=True)


def at_once(calls: list[Callable]) -> list:
    """Start all calls together, each on a connection of its own; a refusal counts as an answer."""
    barrier = threading.Barrier(len(calls))

    def run(call):
        barrier.wait()
        try:
            return call()
        except SubmissionRefused as refusal:
            return refusal
        finally:
            connections.close_all()

    with ThreadPoolExecutor(len(calls)) as pool:
        return list(pool.map(run, calls))


def filing(visit, by):
    return lambda: service_event_file(by=by, submission=visit, filed_at=FILED_AT)


def test_one_cylinder_is_never_overdrawn():
    cylinder, by, technician = supply_cylinder("10 lb"), UserFactory(), TechnicianFactory()
    visits = [
        submission(ApplianceFactory(), technician=technician, transfers=(charged(cylinder, "3 lb"),))
        for _ in range(6)
    ]

    answers = at_once([filing(visit, by) for visit in visits])

    refusals = [answer for answer in answers if isinstance(answer, SubmissionRefused)]
    assert len(refusals) == 3
    assert cylinder_contents(cylinder) == {"R-410A": entered("10 lb").mass_mg - 3 * entered("3 lb").mass_mg}
    assert list(records_verify()) == []


def two_charges(cylinder, by, technician):
    visits = [
        submission(ApplianceFactory(), technician=technician, transfers=(charged(cylinder, "3 lb"),))
        for _ in range(2)
    ]
    return [filing(visit, by) for visit in visits]


def two_amendments(cylinder, by, technician):
    """Two visits that charged 1 lb each, both to be amended to 3 lb: 3 lb are left, so one of them fits."""
    visits = [
        submission(ApplianceFactory(), technician=technician, transfers=(charged(cylinder, "1 lb"),))
        for _ in range(2)
    ]
    events = [filing(visit, by)().event for visit in visits]
    amended = [
        replace(visit, submission_id=uuid4(), transfers=(charged(cylinder, "3 lb"),)) for visit in visits
    ]
    return [
        lambda event=event, visit=visit: service_event_amend(
            by=by, event=event, submission=visit, reason="Typing error.", filed_at=FILED_AT
        )
        for event, visit in zip(events, amended, strict=True)
    ]


def two_heels(cylinder, by, technician):
    into = [CylinderFactory(), CylinderFactory()]
    return [
        lambda other=other: remove_heel(cylinder, other, "3 lb", by=by, removed_by=technician)
        for other in into
    ]


TAKES_OUT = {
    "charge": two_charges,
    "amendment": two_amendments,
    "heel": two_heels,
    "sale": lambda cylinder, by, _: [lambda: sell(cylinder, "3 lb", by=by)] * 2,
    "shipment": lambda cylinder, by, _: [lambda: ship(cylinder, "3 lb", by=by)] * 2,
    "sale and heel": lambda *who: [lambda: sell(who[0], "3 lb", by=who[1]), two_heels(*who)[0]],
    "shipment and charge": lambda *who: [lambda: ship(who[0], "3 lb", by=who[1]), two_charges(*who)[0]],
}


@pytest.mark.parametrize("act", TAKES_OUT)
def test_what_two_take_out_at_once_was_in_the_cylinder(act):
    cylinder, by = CylinderFactory(kind="disposable", refrigerant="R-410A"), UserFactory()
    purchase(cylinder, "5 lb", by=by)

    answers = at_once(TAKES_OUT[act](cylinder, by, TechnicianFactory()))

    left = cylinder_contents(cylinder)["R-410A"]
    assert [isinstance(answer, SubmissionRefused) for answer in answers].count(True) == 1, answers
    # Of two visits of 1 lb, one stands with its 1 lb beside the other's 3 lb.
    beside_mg = entered("1 lb").mass_mg if act == "amendment" else 0
    assert left == entered("5 lb").mass_mg - entered("3 lb").mass_mg - beside_mg
    assert refrigerant_totals() == {"R-410A": 0}
    assert list(records_verify()) == []


def test_a_purchase_is_not_reversed_while_it_is_charged_from():
    cylinder, by = supply_cylinder("5 lb"), UserFactory()
    purchased = StockMovement.objects.get(cylinder=cylinder)
    charge, _ = two_charges(cylinder, by, TechnicianFactory())

    answers = at_once([charge, lambda: reverse(purchased, by=by)])

    assert [isinstance(answer, SubmissionRefused) for answer in answers].count(True) == 1
    assert min(cylinder_contents(cylinder).values(), default=0) >= 0


def test_books_adjusted_to_a_scale_and_a_charge_at_once_never_go_below_nothing():
    cylinder, by = supply_cylinder("5 lb"), UserFactory()
    weighing = weigh(cylinder, "30 lb")
    charge, _ = two_charges(cylinder, by, TechnicianFactory())

    at_once([charge, lambda: adjust(weighing, by=by)])

    assert min(cylinder_contents(cylinder).values(), default=0) >= 0
    assert list(records_verify()) == []


def test_same_submission_is_filed_once():
    cylinder, by = supply_cylinder("25 lb"), UserFactory()
    visit = submission(transfers=(charged(cylinder, "3 lb"),))

    answers = at_once([filing(visit, by)] * 5)

    assert {answer.event.pk for answer in answers} == {ServiceEvent.objects.get().pk}
    assert sorted(answer.was_already_filed for answer in answers) == [False, True, True, True, True]
    assert ChainLink.objects.filter(chain=f"appliance:{visit.appliance.pk}").count() == 1


def test_same_visit_under_several_submissions_is_filed_once():
    visit, by = submission(), UserFactory()

    answers = at_once([filing(replace(visit, submission_id=uuid4()), by) for _ in range(4)])

    assert {answer.event.pk for answer in answers} == {ServiceEvent.objects.get().pk}


def test_same_submission_on_two_appliances_is_filed_on_one():
    """Each locks an appliance of its own, so the database's unique index alone keeps the second one out."""
    by, technician, is_filed = UserFactory(), TechnicianFactory(), threading.Event()
    visit = submission(technician=technician)
    other = replace(visit, appliance=ApplianceFactory())

    def hold_the_transaction_open(**_):
        is_filed.set()
        # On PostgreSQL the other thread is let in, and waits for the unique index.
        threading.Event().wait(0.5)

    def file_second():
        is_filed.wait(5)
        return filing(other, by)()

    service_event_filed.connect(hold_the_transaction_open)
    try:
        first, second = at_once([filing(visit, by), file_second])
    finally:
        service_event_filed.disconnect(hold_the_transaction_open)

    assert ServiceEvent.objects.get() == first.event
    assert [refusal.field for refusal in second.refusals] == ["submission_id"]


def test_cylinders_named_in_either_order_do_not_lock_each_other_out():
    appliances = [ApplianceFactory() for _ in range(4)]
    cylinders = [supply_cylinder("25 lb"), supply_cylinder("25 lb")]
    by, technician = UserFactory(), TechnicianFactory()
    visits = [
        submission(
            appliance,
            technician=technician,
            transfers=tuple(charged(cylinder, "1 lb") for cylinder in cylinders[:: (-1) ** number]),
        )
        for number, appliance in enumerate(appliances)
    ]

    answers = at_once([filing(visit, by) for visit in visits])

    assert [answer.was_already_filed for answer in answers] == [False] * 4
    assert refrigerant_totals() == {"R-410A": 0}
    assert list(records_verify()) == []


def test_one_event_is_amended_once():
    visit, by = submission(), UserFactory()
    event = service_event_file(by=by, submission=visit, filed_at=FILED_AT).event

    def amend(number):
        changed = replace(visit, submission_id=uuid4(), work_done=f"Version {number}.")
        return lambda: service_event_amend(
            by=by, event=event, submission=changed, reason="Typing error.", filed_at=FILED_AT
        )

    answers = at_once([amend(number) for number in range(4)])

    assert sum(isinstance(answer, SubmissionRefused) for answer in answers) == 3
    assert ServiceEvent.objects.count() == 2


def test_cylinder_is_never_overfilled():
    cylinder, by, technician = CylinderFactory(), UserFactory(), TechnicianFactory()
    visits = [
        submission(ApplianceFactory(), technician=technician, transfers=(recovered(cylinder, "20 lb"),))
        for _ in range(4)
    ]

    answers = at_once([filing(visit, by) for visit in visits])

    # 47.7 lb of water capacity take less than 40 lb of R-410A (80 % of the volume at 25 °C, AHRI Guideline K).
    assert sum(isinstance(answer, SubmissionRefused) for answer in answers) == 3


def test_same_purchase_is_filed_once():
    cylinder, once, by = CylinderFactory(), uuid4(), UserFactory()

    answers = at_once([lambda: purchase(cylinder, "5 lb", submission_id=once, by=by)] * 4)

    assert {answer.pk for answer in answers} == {StockMovement.objects.get().pk}
    assert connection.in_atomic_block is False


def test_sale_shipment_and_visits_together_never_overdraw():
    cylinder, by, technician = supply_cylinder("10 lb"), UserFactory(), TechnicianFactory()
    visits = [
        submission(ApplianceFactory(), technician=technician, transfers=(charged(cylinder, "4 lb"),))
        for _ in range(2)
    ]
    acts = [
        *(filing(visit, by) for visit in visits),
        lambda: sell(cylinder, "4 lb", by=by),
        lambda: ship(cylinder, "4 lb", by=by),
    ]

    answers = at_once(acts)

    assert sum(isinstance(answer, SubmissionRefused) for answer in answers) == 2
    assert cylinder_contents(cylinder) == {"R-410A": entered("10 lb").mass_mg - 2 * entered("4 lb").mass_mg}
    assert refrigerant_totals() == {"R-410A": 0}
    assert list(records_verify()) == []


def test_one_weighing_is_adjusted_to_once():
    cylinder, by = supply_cylinder("10 lb"), UserFactory()
    weighing = weigh(cylinder, "37 lb")

    answers = at_once([lambda: adjust(weighing, by=by)] * 4)

    assert sum(isinstance(answer, SubmissionRefused) for answer in answers) == 3
    assert cylinder_contents(cylinder) == {"R-410A": weighing.net_mg}


def test_one_movement_is_reversed_once():
    sale, by = sell(supply_cylinder("10 lb"), "4 lb"), UserFactory()

    answers = at_once([lambda: reverse(sale, by=by)] * 4)

    assert sum(isinstance(answer, SubmissionRefused) for answer in answers) == 3
    assert refrigerant_totals() == {"R-410A": 0}


def test_heels_into_one_cylinder_do_not_lock_each_other_out():
    by, technician, into = UserFactory(), TechnicianFactory(), CylinderFactory()
    heels = [CylinderFactory(kind="disposable", refrigerant="R-410A") for _ in range(4)]
    for heel in heels:
        purchase(heel, "1 lb", by=by)

    answers = at_once(
        [lambda heel=heel: remove_heel(heel, into, "1 lb", by=by, removed_by=technician) for heel in heels]
    )

    assert not [answer for answer in answers if isinstance(answer, SubmissionRefused)]
    assert cylinder_contents(into) == {"R-410A": 4 * entered("1 lb").mass_mg}
    assert list(records_verify()) == []


def test_moves_and_weighings_at_once_all_stand_in_the_chain():
    cylinder, by = supply_cylinder("10 lb"), UserFactory()

    acts = [
        lambda name=name: move(cylinder, "away", firm_name=name, by=by)
        for name in ("Harbor Gas", "Marsh Metals")
    ]
    at_once([*acts, *[lambda: weigh(cylinder, "38 lb", by=by)] * 2])

    assert ChainLink.objects.filter(chain=f"cylinder:{cylinder.pk}").count() == 5
    assert list(records_verify()) == []
