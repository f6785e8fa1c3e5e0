"""Requalification tests as filed records: what they need, which date the register shows, what may be filled when."""

import datetime

import pytest
import time_machine

from compliance.rulebook.requalification import least_test_pressure
from jobs.models import ChainLink, Cylinder
from jobs.selectors.cylinders import cylinder_list
from jobs.selectors.requalification import condemned
from jobs.services.cylinders import cylinder_change
from jobs.services.verification import records_verify
from tests.factories import (
    FILED_AT,
    HAPPENED_ON,
    CylinderFactory,
    UserFactory,
    charged,
    file_event,
    recovered,
    supply_cylinder,
)
from tests.jobs.cylinder_acts import requalify, withdraw
from tests.jobs.refused import refused
from tests.jobs.test_transfer_refusals import purchase

pytestmark = pytest.mark.django_db

date = datetime.date


def register_date_of(cylinder):
    return Cylinder.objects.values_list("requalified_on", flat=True).get(pk=cylinder.pk)


def fill(cylinder, day):
    filed_at = datetime.datetime.combine(day, datetime.time(22), datetime.UTC)
    return file_event(transfers=(recovered(cylinder, "1 lb"),), happened_on=day, filed_at=filed_at)


def test_the_register_follows_the_newest_test_that_was_passed():
    cylinder = CylinderFactory(requalified_on=date(2020, 4, 2))

    requalify(cylinder, happened_on=date(2026, 2, 3))
    requalify(cylinder, happened_on=date(2025, 5, 6))

    assert register_date_of(cylinder) == date(2026, 2, 3)
    assert list(records_verify()) == []
    kinds = ChainLink.objects.filter(chain=f"cylinder:{cylinder.pk}").values_list("record_kind", flat=True)
    assert list(kinds) == ["requalification_test"] * 2


def test_a_withdrawn_test_gives_the_former_date_back():
    cylinder = CylinderFactory(requalified_on=date(2020, 4, 2))
    older = requalify(cylinder, happened_on=date(2025, 5, 6))
    newer = requalify(cylinder, happened_on=date(2026, 2, 3))

    withdraw(newer)
    assert register_date_of(cylinder) == date(2025, 5, 6)
    withdraw(older)
    assert register_date_of(cylinder) == date(2020, 4, 2)
    assert list(records_verify()) == []


def test_a_date_put_right_between_two_tests_is_the_one_that_comes_back():
    cylinder = CylinderFactory(requalified_on=date(2020, 4, 2))
    withdraw(requalify(cylinder, happened_on=date(2025, 5, 6)))
    cylinder_change(by=UserFactory(), cylinder=cylinder, requalified_on=date(2021, 4, 2))

    withdraw(requalify(cylinder, happened_on=date(2026, 2, 3)))

    assert register_date_of(cylinder) == date(2021, 4, 2)


def test_a_date_beside_a_test_on_record_is_not_changed_by_hand():
    cylinder = CylinderFactory(requalified_on=date(2020, 4, 2))
    requalify(cylinder, happened_on=date(2026, 2, 3))

    refusals = refused(
        cylinder_change,
        by=UserFactory(),
        cylinder=cylinder,
        requalified_on=date(2026, 2, 4),
        filed_at=FILED_AT,
    )

    assert refusals.keys() == {"requalified_on"}
    assert "the test of 2026-02-03" in refusals["requalified_on"].expected


# 49 CFR 180.205(c), from memory. Made in April 2020 and due by the end of April 2025; tested again on 3 February 2026.
@pytest.mark.parametrize(
    ("day", "may_be_filled"),
    [
        (date(2025, 4, 30), True),
        (date(2025, 5, 1), False),
        (date(2026, 2, 2), False),
        (date(2026, 2, 3), True),
    ],
)
def test_a_fill_counts_by_the_test_of_its_own_day(day, *, may_be_filled):
    cylinder = CylinderFactory(requalified_on=date(2020, 4, 2))
    requalify(cylinder, happened_on=date(2026, 2, 3))

    if may_be_filled:
        assert fill(cylinder, day).event.pk
    else:
        assert refused(fill, cylinder, day)["transfers-0-cylinder"].citation == "49 CFR 180.205(c)"


def test_a_condemned_cylinder_is_not_filled_and_may_be_emptied():
    # 49 CFR 180.205(i), from memory.
    cylinder = supply_cylinder("5 lb", requalified_on=date(2024, 4, 1))
    requalify(cylinder, "condemned")

    filled = refused(purchase, cylinder, "1 lb", happened_on=HAPPENED_ON)
    assert filled["refrigerant"].citation == "49 CFR 180.205(i)"
    recovery = CylinderFactory()
    requalify(recovery, "condemned")
    assert refused(fill, recovery, HAPPENED_ON)["transfers-0-cylinder"].citation == "49 CFR 180.205(i)"
    assert fill(recovery, HAPPENED_ON - datetime.timedelta(days=1)).event.pk
    assert file_event(transfers=(charged(cylinder, "5 lb"),)).event.pk


def test_a_condemned_cylinder_is_due_for_nothing_and_keeps_its_date():
    cylinder = CylinderFactory(requalified_on=date(2020, 4, 2))
    test = requalify(cylinder, "condemned")

    assert register_date_of(cylinder) == date(2020, 4, 2)
    assert condemned([cylinder.pk], on=HAPPENED_ON) == {cylinder.pk: HAPPENED_ON}
    assert condemned([cylinder.pk], on=HAPPENED_ON - datetime.timedelta(days=1)) == {}
    assert cylinder not in cylinder_list(due_by=HAPPENED_ON)
    later = {
        "happened_on": HAPPENED_ON + datetime.timedelta(days=9),
        "filed_at": FILED_AT + datetime.timedelta(9),
    }
    assert "condemned on 2026-03-02" in refused(requalify, cylinder, **later)["cylinder"].expected
    withdraw(test)
    assert requalify(cylinder, **later).pk


def test_what_was_known_before_a_condemnation_stays_known():
    cylinder = CylinderFactory()
    test = requalify(cylinder, "condemned")
    withdraw(test, filed_at=FILED_AT + datetime.timedelta(days=2))
    known = [FILED_AT - datetime.timedelta(hours=1), FILED_AT, FILED_AT + datetime.timedelta(days=2)]

    counts = [len(condemned([cylinder.pk], on=HAPPENED_ON, known_at=instant)) for instant in known]

    assert counts == [0, 1, 0]


# 49 CFR 180.205(b): requalified and marked by a RIN holder alone.
@pytest.mark.parametrize(
    ("fields", "field", "citation"),
    [
        ({"identification_number": " "}, "identification_number", "49 CFR 180.205(b)"),
        ({"requalifier": ""}, "requalifier", "49 CFR 180.205(b)"),
        ({"method": "a look"}, "method", "49 CFR 180.209"),
        ({"result": "condemned", "reason": " "}, "reason", ""),
        ({"happened_on": date(2026, 3, 3)}, "happened_on", ""),
    ],
)
def test_a_test_names_how_and_by_whom(fields, field, citation):
    assert refused(requalify, CylinderFactory(), **fields)[field].citation == citation


def test_a_disposable_cylinder_is_not_tested():
    assert "cylinder" in refused(requalify, CylinderFactory(kind="disposable", specification="DOT-39"))


# 49 CFR 180.209(a), table 1: two times the service pressure; (g): an external visual inspection has none.
@pytest.mark.parametrize(
    ("stamped", "least_psi"), [("DOT-4BA400", 800), ("DOT-4BW260", 520), ("4B240ET", 480), ("3AA2015", None)]
)
def test_pressure_of_a_test_is_twice_the_service_pressure(stamped, least_psi):
    least = least_test_pressure(stamped, on=HAPPENED_ON)

    assert (least and least[0]) == least_psi


def test_too_low_a_pressure_is_refused():
    cylinder = CylinderFactory()

    assert refused(requalify, cylinder, test_pressure_psi=799).keys() == {"test_pressure_psi"}
    test = requalify(cylinder, test_pressure_psi=800)
    # 49 CFR 180.213, from memory: month, RIN, year.
    assert test.marking == "3 H417 26"
    with time_machine.travel(FILED_AT):
        assert requalify(CylinderFactory(), method="external_visual").marking == "3 H417 26 E"
