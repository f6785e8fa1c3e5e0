"""The stored answers: made in the filing's own transaction, the same whatever way they came about."""

import random

import pytest
from django.core.management import call_command
from django.db import IntegrityError, transaction

from compliance.models import ApplianceAssessment, LeakRate, Obligation
from compliance.rulebook.tables import load_tables
from compliance.rulebook.version import RULEBOOK_VERSION
from compliance.selectors.facts import assess_appliance
from compliance.services.assessments import appliance_reassess
from jobs.models import ServiceEvent
from jobs.services.events import service_event_void
from jobs.signals import service_event_filed
from tests.compliance.firm import (
    INITIAL,
    add_appliance,
    amend,
    day,
    file,
    leak,
    noon,
    over_the_threshold,
)
from tests.compliance.histories import live

pytestmark = pytest.mark.django_db


def _stored(appliance):
    """Everything stored of an appliance but the rows' own ids."""
    rates = LeakRate.objects.filter(appliance=appliance).order_by("position")
    owed = Obligation.objects.filter(appliance=appliance).order_by("key")
    return (
        [{**row, "id": None} for row in rates.values()],
        [{**row, "id": None} for row in owed.values()],
        list(ApplianceAssessment.objects.filter(appliance=appliance).values("as_of", "applies", "warnings")),
    )


def _pending(appliance):
    return {row.kind: row for row in appliance.obligations.filter(status="open")}


def test_filing_stores_the_rate_and_the_clocks_that_it_starts(admin, chiller):
    event = over_the_threshold(admin, chiller, "2026-03-02")

    rate = chiller.leak_rates.get()
    pending = _pending(chiller)
    # 40 CFR 84.106(b)(1), (c)(2), (d), (e)(1): 12 % over 365 days, 30 days for the repair and its test.
    assert (float(rate.rate_pct), rate.exceeds, rate.event) == (12.0, True, event)
    assert pending["repair"].due_on == pending["initial_verification_test"].due_on == day("2026-04-01")
    assert pending["repair"].opened_by == event


def test_the_answer_is_stored_with_the_versions_it_rests_on(admin, chiller):
    over_the_threshold(admin, chiller, "2026-03-02")

    assessment = chiller.assessment
    assert assessment.as_of == day("2026-03-02")
    assert assessment.rulebook_version == RULEBOOK_VERSION
    assert assessment.tables_version == load_tables().version
    assert [applied["rule"] for applied in assessment.applies] == ["us-federal-hfc"]


def test_the_day_counted_is_the_sites_own(admin, chiller):
    chiller.site.time_zone = "Pacific/Honolulu"
    chiller.site.save()
    # 03:00 UTC on 3 March is 17:00 on 2 March in Honolulu.
    filed_at = noon(day("2026-03-02")).replace(hour=3, day=3)

    file(admin, chiller, "2026-03-02", filed_at=filed_at, added=[("12", None)])

    assert chiller.assessment.as_of == day("2026-03-02")


def test_what_meets_an_obligation_is_stored_with_it(admin, chiller):
    over_the_threshold(admin, chiller, "2026-03-02")
    event = file(admin, chiller, "2026-03-10", repaired=[leak(chiller)], passed=[(INITIAL, leak(chiller))])

    repair = chiller.obligations.get(kind="repair")
    assert (repair.status, repair.met_on, repair.met_by) == ("met", day("2026-03-10"), event)


def test_rows_keep_their_ids_while_their_contents_change(admin, chiller):
    over_the_threshold(admin, chiller, "2026-03-02")
    before = dict(chiller.obligations.exclude(kind="record_retention").values_list("key", "pk"))

    file(admin, chiller, "2026-03-10", repaired=[leak(chiller)], passed=[(INITIAL, leak(chiller))])

    after = dict(chiller.obligations.values_list("key", "pk"))
    assert before.items() <= after.items()


def test_rows_that_an_amendment_undoes_are_gone(admin, chiller):
    event = over_the_threshold(admin, chiller, "2026-03-02")

    amend(admin, event, "2026-03-02", filed_at=noon(day("2026-03-04")), added=[("2", None)])

    assert not chiller.leak_rates.filter(exceeds=True).exists()
    assert set(chiller.obligations.values_list("kind", flat=True)) == {"record_retention"}


def test_a_void_record_leaves_nothing(admin, chiller):
    event = over_the_threshold(admin, chiller, "2026-03-02")

    service_event_void(by=admin, event=event, reason="Another appliance", filed_at=noon(day("2026-03-04")))

    assert (chiller.leak_rates.count(), chiller.obligations.count()) == (0, 0)


def test_a_back_dated_record_answers_as_if_it_had_been_filed_in_time(admin):
    in_time, late = add_appliance(admin, "Chiller 1"), add_appliance(admin, "Chiller 2")
    file(admin, in_time, "2026-02-01", added=[("3", None)])
    file(admin, in_time, "2026-05-01", added=[("5", None)])
    file(admin, late, "2026-05-01", added=[("5", None)])
    file(admin, late, "2026-02-01", filed_at=noon(day("2026-05-01")), added=[("3", None)])

    def figures(appliance):
        return list(appliance.leak_rates.order_by("position").values_list("on", "rate_pct", "exceeds"))

    assert figures(in_time) == figures(late)
    # 5 lb of 100 lb 89 days after the last addition: 5 / 100 * 365 / 89 = 20.51 % (40 CFR 84.102).
    assert [float(row[1]) for row in figures(late)] == [3.0, 20.51]


def test_an_assessment_that_fails_undoes_the_filing(admin, chiller):
    def fail(**_):
        raise IntegrityError("the disk is full")

    service_event_filed.connect(fail)
    try:
        with pytest.raises(IntegrityError), transaction.atomic():
            over_the_threshold(admin, chiller, "2026-03-02")
    finally:
        service_event_filed.disconnect(fail)

    assert ServiceEvent.objects.count() == LeakRate.objects.count() == 0


def test_assessing_again_changes_nothing(admin, chiller):
    over_the_threshold(admin, chiller, "2026-03-02")
    rows = list(Obligation.objects.values()), list(LeakRate.objects.values())

    appliance_reassess(appliance=chiller, as_of=day("2026-03-02"), assessed_at=noon(day("2026-03-02")))

    assert rows == (list(Obligation.objects.values()), list(LeakRate.objects.values()))


def test_an_unchanged_assessment_writes_no_rows(admin, chiller, django_assert_max_num_queries):
    over_the_threshold(admin, chiller, "2026-03-02")

    with django_assert_max_num_queries(16):
        appliance_reassess(appliance=chiller, as_of=day("2026-03-02"), assessed_at=noon(day("2026-03-02")))


def test_the_overdue_show_as_of_a_later_day(admin, chiller):
    over_the_threshold(admin, chiller, "2026-03-02")
    statuses = []
    for on in ("2026-04-01", "2026-04-02"):
        appliance_reassess(appliance=chiller, as_of=day(on), assessed_at=noon(day(on)))
        statuses.append(chiller.obligations.get(kind="repair").status)

    assert statuses == ["open", "overdue"]


@pytest.mark.parametrize("seed", range(12))
def test_a_rebuild_gives_what_the_filings_had_given(admin, chiller, seed, time_machine):
    time_machine.move_to(noon(day("2026-07-01")))
    assert live(random.Random(seed), admin, chiller)
    incremental = _stored(chiller)

    Obligation.objects.all().delete()
    LeakRate.objects.all().delete()
    ApplianceAssessment.objects.all().delete()
    call_command("rebuild_assessments")

    assert _stored(chiller) == incremental


@pytest.mark.parametrize("seed", range(100, 104))
def test_what_is_stored_is_what_the_rulebook_answers(admin, chiller, seed):
    assert live(random.Random(seed), admin, chiller)

    answer = assess_appliance(chiller, as_of=day("2026-07-01"))

    assert [str(row.rate_pct) for row in chiller.leak_rates.order_by("position")] == [
        str(row.percent_rounded) for row in answer.leak_rates
    ]
    assert sorted(chiller.obligations.values_list("kind", "status", "opened_on")) == sorted(
        (row.kind.value, row.status.value, row.opened_on) for row in answer.obligations
    )


def test_the_command_says_how_many_it_assessed(admin, chiller, capsys):
    call_command("rebuild_assessments")

    assert capsys.readouterr().out == "1 appliances assessed.\n"
