"""Many appliances assessed together keep what each alone would keep, and what others did meanwhile."""

import datetime

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from compliance.models import ApplianceAssessment, LeakRate, Obligation
from compliance.services import assessments
from compliance.services.assessments import appliance_reassess, appliances_reassess
from jobs.models import Appliance
from tests.compliance.firm import add_appliance, day, file, noon, over_the_threshold
from tests.compliance.histories import lively_firm
from tests.demo_firm import NOW

pytestmark = pytest.mark.django_db

LATER = noon(day("2026-08-15"))


def _stored(appliance):
    """Everything stored of an appliance but the rows' own ids and the instant."""
    rates = LeakRate.objects.filter(appliance=appliance).order_by("position")
    owed = Obligation.objects.filter(appliance=appliance).order_by("key")
    assessed = ApplianceAssessment.objects.filter(appliance=appliance)
    return [
        [{**row, "id": None} for row in rates.values()],
        [{**row, "id": None} for row in owed.values()],
        [{**row, "id": None, "assessed_at": None} for row in assessed.values()],
    ]


def _forget():
    for model in (Obligation, LeakRate, ApplianceAssessment):
        model.objects.all().delete()


def _each_alone(appliances, now):
    for appliance in appliances:
        as_of = now.astimezone(appliance.site.zone).date()
        appliance_reassess(appliance=appliance, as_of=as_of, assessed_at=now)


@pytest.mark.parametrize("seed", [1, *(pytest.param(seed, marks=pytest.mark.proof) for seed in range(2, 60))])
def test_together_is_as_each_alone_at_once_and_in_steps(admin, seed):
    appliances = lively_firm(admin, seed)
    ids = [appliance.pk for appliance in appliances]
    appliances_reassess(appliance_ids=ids, now=noon(day("2026-07-04")))
    appliances_reassess(appliance_ids=ids, now=LATER)
    in_steps = [_stored(appliance) for appliance in appliances]

    _forget()
    appliances_reassess(appliance_ids=ids, now=LATER)
    at_once = [_stored(appliance) for appliance in appliances]
    _forget()
    _each_alone(appliances, LATER)

    alone = [_stored(appliance) for appliance in appliances]
    assert at_once == alone
    assert in_steps == alone


def test_the_demo_firm_is_assessed_together_as_each_alone(demo_firm):
    ids = list(Appliance.objects.values_list("pk", flat=True))
    later = NOW + datetime.timedelta(days=40)
    appliances_reassess(appliance_ids=ids, now=later)
    together = [_stored(pk) for pk in ids]

    _forget()
    _each_alone(Appliance.objects.select_related("site"), later)

    assert [_stored(pk) for pk in ids] == together


def test_what_holds_is_what_a_new_assessment_gives(admin):
    """On every day up to ``holds_until`` an appliance left alone has what assessing it would store."""
    appliances = lively_firm(admin, 7)
    _each_alone(appliances, LATER)
    before = {appliance.pk: _stored(appliance) for appliance in appliances}

    for days in range(40):
        now = LATER + datetime.timedelta(days=days)
        ids = [
            pk
            for pk, (*_, [assessment]) in before.items()
            if assessment["holds_until"] >= now.astimezone(datetime.UTC).date()
        ]
        appliances_reassess(appliance_ids=ids, now=now, is_rebuild=True)
        for pk in ids:
            assert _stored(pk)[:2] == before[pk][:2], days
    assert ids


def test_an_answer_stored_already_is_neither_read_nor_written_again(admin, chiller):
    over_the_threshold(admin, chiller, "2026-03-02")
    appliances_reassess(appliance_ids=[chiller.pk], now=noon(day("2026-03-03")))

    with CaptureQueriesContext(connection) as queries:
        outcome = appliances_reassess(appliance_ids=[chiller.pk], now=noon(day("2026-03-04")))

    assert (outcome.assessed, outcome.changed) == (1, 0)
    assert not [query for query in queries if "compliance_leakrate" in query["sql"]]
    assert chiller.assessment.as_of == day("2026-03-04")


def test_a_rebuild_mends_rows_that_somebody_changed(admin, chiller):
    over_the_threshold(admin, chiller, "2026-03-02")
    appliances_reassess(appliance_ids=[chiller.pk], now=noon(day("2026-03-03")))
    before = _stored(chiller)
    Obligation.objects.update(status="met")
    LeakRate.objects.all().delete()

    appliances_reassess(appliance_ids=[chiller.pk], now=noon(day("2026-03-03")), is_rebuild=True)

    assert _stored(chiller) == before


def test_queries_don_t_grow_with_the_appliances(admin):
    appliances = [add_appliance(admin, f"Chiller {number}") for number in range(8)]
    for appliance in appliances:
        over_the_threshold(admin, appliance, "2026-03-02")
    ids = [appliance.pk for appliance in appliances]

    with CaptureQueriesContext(connection) as few:
        appliances_reassess(appliance_ids=ids[:2], now=LATER)
    with CaptureQueriesContext(connection) as many:
        appliances_reassess(appliance_ids=ids[2:], now=LATER)

    assert len(many) == len(few)


def test_a_record_filed_while_many_are_assessed_is_not_overwritten(admin, chiller, monkeypatch):
    """Facts were read, then a record is filed, then the answers are written: the filing's answer is the newer one."""
    over_the_threshold(admin, chiller, "2026-03-02")
    other = add_appliance(admin, "Chiller 2")
    lock = assessments._lock_unassessed

    def file_first(*args):
        file(admin, chiller, "2026-03-09", added=[("15", None)])
        return lock(*args)

    monkeypatch.setattr(assessments, "_lock_unassessed", file_first)
    outcome = appliances_reassess(appliance_ids=[chiller.pk, other.pk], now=noon(day("2026-03-10")))

    assert outcome.assessed == 1
    assert chiller.leak_rates.count() == 2
    assert chiller.assessment.as_of == day("2026-03-09")
    assert other.assessment.as_of == day("2026-03-10")
