"""A mistaken leak rate method of the register put right: filed, rates reckoned anew, amended, withdrawn, kept.

The masses and days are those of 40 CFR 82.152, *Leak rate*: 100 lb take 2 lb and, 120 days later, 4 lb.
By the annualizing method the second addition is 4 / 100 * 365 / 120 = 12.17 % a year, over the 10 % of comfort cooling
(40 CFR 84.106(c)(2)); by the rolling average method it is 2 + 4 of 100 lb, 6 %.
"""

import datetime
import json
import uuid
from dataclasses import replace

import pytest
import time_machine
from django.template.loader import render_to_string

from compliance.models import ApplianceAssessment, LeakRate, Obligation
from compliance.selectors.appliance_record import appliance_record
from compliance.selectors.event_record import whole_events
from compliance.selectors.facts import appliance_facts, assess_appliance
from compliance.selectors.facts_in_bulk import facts_in_bulk
from compliance.selectors.forecasts import appliances_to_forecast
from compliance.selectors.service_record import service_record
from compliance.selectors.staleness import with_answers_that_hold
from compliance.services.assessments import appliances_reassess
from compliance.services.forecasts import forecasts_refresh
from compliance.services.method_changes import (
    method_change_file,
    method_change_withdraw,
)
from compliance.services.method_corrections import (
    method_correction_amend,
    method_correction_withdraw,
)
from jobs.models import LeakRateMethodCorrection, Site
from jobs.services.customers import site_change
from jobs.services.verification import records_verify
from tests.compliance.facility_records.acts import CHANGE, correct, pack_of
from tests.compliance.facility_records.acts import CORRECTED_AT as FILED_AT
from tests.compliance.facility_records.acts import CORRECTION as ENTRY
from tests.compliance.firm import add_appliance, add_customer, add_site, day, file, noon
from tests.compliance.reports.asking import pdf_text
from tests.jobs.refused import refused

pytestmark = pytest.mark.django_db


@pytest.fixture
def store(mistaken_store):
    return mistaken_store


def _at(days: int) -> datetime.datetime:
    return FILED_AT + datetime.timedelta(days=days)


def _amend(officer, correction, reason="Found more sheets", **fields):
    with time_machine.travel(_at(1), tick=False):
        entry = replace(ENTRY, submission_id=uuid.uuid4(), **fields)
        return method_correction_amend(by=officer, correction=correction, entry=entry, reason=reason)


def _withdraw(officer, correction, reason="The register was right"):
    with time_machine.travel(_at(2), tick=False):
        return method_correction_withdraw(by=officer, correction=correction, reason=reason)


def _change(officer, site, **fields):
    entry = replace(CHANGE, **{"happened_on": day("2026-07-01"), "submission_id": uuid.uuid4(), **fields})
    return method_change_file(by=officer, site=site, entry=entry, filed_at=FILED_AT)


def _rates(site):
    rows = LeakRate.objects.filter(appliance__site=site).order_by("on")
    return [(str(row.on), row.method, f"{row.rate_pct:.2f}", row.exceeds) for row in rows]


def _kept(site):
    """All that is stored of the site's appliances, apart from when it was reckoned."""
    found = []
    for model, without in ((ApplianceAssessment, {"assessed_at"}), (LeakRate, {"id"}), (Obligation, {"id"})):
        names = [field.attname for field in model._meta.concrete_fields if field.attname not in without]
        rows = model.objects.filter(appliance__site=site).values_list(*names)
        found.append(sorted(map(repr, rows)))
    return found


def test_leak_rates_and_clocks_are_reckoned_anew_from_the_first_on(officer, store):
    assert _rates(store)[1] == ("2026-06-02", "annualizing", "12.17", True)
    assert Obligation.objects.filter(appliance__site=store, kind="repair").exists()

    correction = correct(officer, store)

    assert (correction.former_method, correction.method) == ("annualizing", "rolling_average")
    assert _rates(store) == [
        ("2026-02-02", "rolling_average", "2.00", False),
        ("2026-06-02", "rolling_average", "6.00", False),
    ]
    assert not Obligation.objects.filter(appliance__site=store, kind="repair").exists()


def test_clocks_of_past_days_begin_with_it(admin, officer):
    site = add_site(admin, add_customer(admin), "Other store", leak_rate_method="rolling_average")
    chiller = add_appliance(admin, "Chiller 4", site=site)
    file(admin, chiller, "2026-02-02", added=[("2", None)])
    file(admin, chiller, "2026-06-02", added=[("4", None)])
    assert not Obligation.objects.filter(appliance=chiller, kind="repair").exists()

    correct(officer, site, method="annualizing")

    # 30 days from the addition by which it was found (40 CFR 84.106(d)), a month before the correction.
    repair = Obligation.objects.get(appliance=chiller, kind="repair")
    assert (repair.opened_on, repair.due_on, repair.status) == (
        day("2026-06-02"),
        day("2026-07-02"),
        "overdue",
    )


def test_what_is_kept_is_what_a_rebuild_gives(officer, store):
    correct(officer, store)
    kept = _kept(store)

    ids = list(store.appliances.values_list("pk", flat=True))
    appliances_reassess(appliance_ids=ids, now=FILED_AT, is_rebuild=True)

    assert _kept(store) == kept


def test_the_appliance_is_described_by_the_right_method_and_no_fact_is_added(officer, store):
    chiller = store.appliances.get(name="Chiller 1")
    _, facts = appliance_facts(chiller)

    correct(officer, store)

    described, facts_now = appliance_facts(store.appliances.select_related("site").get(pk=chiller.pk))
    assert described.leak_rate_method == "rolling_average"
    assert facts_now == facts


def test_as_known_before_it_was_filed_the_register_named_the_other(officer, store):
    correct(officer, store)
    chiller = store.appliances.select_related("site").get(name="Chiller 1")

    def methods(known_at=None):
        answer = assess_appliance(chiller, as_of=day("2026-12-31"), known_at=known_at)
        return {rate.method for rate in answer.leak_rates}

    assert methods() == {"rolling_average"}
    assert methods(FILED_AT - datetime.timedelta(seconds=1)) == {"annualizing"}


def test_a_printed_service_record_stays_as_it_was(officer, store):
    event = whole_events().get(happened_on="2026-06-02")

    def rates():
        return [(rate.method, str(rate.percent_rounded)) for rate in service_record(event).rates]

    assert rates() == [("annualizing", "12.17")]
    correct(officer, store)
    assert rates() == [("annualizing", "12.17")]


def test_a_report_as_known_before_takes_none_of_the_answers_kept_since(officer, store):
    correct(officer, store)
    appliances, on = store.appliances.order_by("pk"), day("2026-08-04")

    def reckoned(known_at):
        return {one.described.leak_rate_method for one in facts_in_bulk(appliances, known_at)}

    later = FILED_AT + datetime.timedelta(hours=1)
    before = FILED_AT - datetime.timedelta(hours=1)
    assert (reckoned(later), reckoned(before)) == ({"rolling_average"}, {"annualizing"})
    ids = list(appliances.values_list("pk", flat=True))
    appliances_reassess(appliance_ids=ids, now=FILED_AT + datetime.timedelta(minutes=30))
    assert with_answers_that_hold(appliances, as_of=on, known_at=later).count() == 2
    assert not with_answers_that_hold(appliances, as_of=on, known_at=before).exists()


def test_the_registers_history_says_who_put_it_right(officer, store):
    correct(officer, store)

    newest, first = store.history.order_by("-history_date")
    assert (first.leak_rate_method, newest.leak_rate_method) == ("annualizing", "rolling_average")
    assert (newest.history_user, newest.history_date) == (officer, FILED_AT)


def test_it_keeps_the_newest_rates_by_either_method(officer, store):
    first, second = correct(officer, store).facility["appliances"]

    assert first["rates"] == {
        "annualizing": {"on": "2026-06-02", "leak_rate_pct": "12.17", "threshold_pct": "10"},
        "rolling_average": {"on": "2026-06-02", "leak_rate_pct": "6.00", "threshold_pct": "10"},
    }
    assert second["rates"] == {"annualizing": None, "rolling_average": None}


def test_it_holds_for_appliances_with_ozone_depleting_refrigerants_too(admin, officer):
    site = add_site(admin, add_customer(admin), "Old store")
    chiller = add_appliance(admin, "Chiller 5", site=site, refrigerant="R-22")
    file(admin, chiller, "2026-02-02", added=[("2", None)])

    (row,) = correct(officer, site).facility["appliances"]

    # 40 CFR 82.152 knows no change of method, but what the register says is ours to put right.
    assert row["rates"]["rolling_average"]["leak_rate_pct"] == "2.00"
    assert {method for _, method, *_ in _rates(site)} == {"rolling_average"}


@pytest.mark.parametrize(
    ("fields", "field", "expected"),
    [
        ({"method": "annualizing"}, "method", "names this one already"),
        ({"method": "guess"}, "method", "one of the two"),
        ({"mistake": " "}, "mistake", "how the register came to"),
        ({"shown_by": ""}, "shown_by", "from the beginning"),
        ({"shown_by": "x" * 241}, "shown_by", "240"),
        ({"is_mistake": False}, "is_mistake", "only the register’s entry"),
    ],
)
def test_it_is_refused_at_the_field_and_the_register_stays(officer, store, fields, field, expected):
    assert expected in refused(correct, officer, store, **fields)[field].expected

    assert not LeakRateMethodCorrection.objects.exists()
    assert Site.objects.get(pk=store.pk).leak_rate_method == "annualizing"
    assert _rates(store)[1][1] == "annualizing"


def test_a_change_of_method_in_its_guise_is_refused_with_the_paragraph(officer, store):
    refusal = refused(correct, officer, store, is_mistake=False)["is_mistake"]

    assert refusal.citation == "40 CFR 84.106(b)(3)"


def test_while_the_entry_is_free_it_is_changed_on_its_own_form(admin, officer):
    empty = add_site(admin, add_customer(admin), "Empty store")
    abroad = add_site(admin, empty.customer, "Abroad", jurisdiction="eu")
    file(admin, add_appliance(admin, site=abroad), "2026-02-02", added=[("2", None)])

    for site in (empty, abroad):
        assert "on the site’s own form" in refused(correct, officer, site)["method"].expected


def test_the_register_stays_fixed_after_it(admin, officer, store):
    correct(officer, store)

    site = Site.objects.get(pk=store.pk)
    assert refused(site_change, by=admin, site=site, leak_rate_method="annualizing").keys() == {
        "leak_rate_method"
    }


def test_a_form_opened_before_it_takes_nothing_back(admin, officer, store):
    opened = Site.objects.get(pk=store.pk)
    correct(officer, store)

    assert "leak_rate_method" in refused(site_change, by=admin, site=opened, city="Galena")
    assert Site.objects.get(pk=store.pk).leak_rate_method == "rolling_average"


def test_a_second_one_is_the_withdrawal_of_the_first(officer, store):
    correction = correct(officer, store)

    assert str(correction) in refused(correct, officer, store, method="annualizing")["method"].expected


def test_none_is_filed_beside_a_change_that_names_the_entry(officer, acquired_store):
    change = _change(officer, acquired_store)

    assert str(change) in refused(correct, officer, acquired_store)["method"].expected
    method_change_withdraw(by=officer, change=change, reason="It was always so", filed_at=FILED_AT)
    assert correct(officer, acquired_store).method == "rolling_average"


def test_one_that_a_change_rests_on_stays(officer, acquired_store):
    correction = correct(officer, acquired_store)
    change = _change(officer, Site.objects.get(pk=acquired_store.pk), method="annualizing")

    assert change.former_method == "rolling_average"
    assert str(change) in refused(_withdraw, officer, correction)["correction"].expected


def test_an_amendment_takes_its_place_and_leaves_the_method(officer, store):
    correction = correct(officer, store)
    kept = _kept(store)

    amended = _amend(officer, correction, shown_by="The owner’s sheets since 2025")

    assert (amended.supersedes, amended.original) == (correction, correction)
    assert (amended.former_method, amended.happened_on) == ("annualizing", day("2026-08-04"))
    assert _kept(store)[1:] == kept[1:]
    assert store.history.count() == 2
    assert refused(_amend, officer, correction).keys() == {"correction"}
    assert refused(_amend, officer, amended, reason=" ").keys() == {"reason"}
    assert "withdraw it" in refused(_amend, officer, amended, method="annualizing")["method"].expected
    assert list(records_verify()) == []


def test_a_withdrawal_brings_the_former_entry_and_its_answers_back(officer, store):
    before = _rates(store)
    correction = correct(officer, store)

    void = _withdraw(officer, correction)

    assert void.is_void
    assert _rates(store) == before
    assert Obligation.objects.filter(appliance__site=store, kind="repair", status="overdue").exists()
    assert Site.objects.get(pk=store.pk).leak_rate_method == "annualizing"
    assert refused(_withdraw, officer, correction).keys() == {"correction"}
    assert refused(_withdraw, officer, void).keys() == {"correction"}
    assert list(records_verify()) == []
    assert correct(officer, store).pk


def test_estimates_of_next_charges_are_made_anew(admin, officer, store):
    chiller = store.appliances.get(name="Chiller 1")
    file(admin, chiller, "2026-07-02", added=[("1", None)])
    forecasts_refresh(now=FILED_AT)
    assert not appliances_to_forecast(FILED_AT).filter(site=store).exists()

    correct(officer, store)

    assert list(appliances_to_forecast(FILED_AT).filter(site=store)) == [chiller]


def test_a_record_pack_holds_it_with_all_its_versions(officer, store):
    correction = correct(officer, store)
    amended = _amend(officer, correction)

    files = pack_of(store)

    kept = json.loads(files[f"records/{correction.reference}.json"].write())
    assert (kept["record"], kept["former_method"]) == ("method_correction", "annualizing")
    chains = json.loads(files["chains.json"].write())["chains"]
    named = [
        link["file"]
        for chain in chains
        for link in chain["links"]
        if link["record_kind"] == "method_correction"
    ]
    assert sorted(named) == sorted(2 * [f"records/{row.reference}.json" for row in (correction, amended)])
    index = files["index.csv"].write().decode("utf-8-sig")
    assert f"Leak rate method corrected in the register: as first filed; replaced by {amended}" in index
    page = files["index.html"].write().decode()
    assert f'href="records/{amended.reference}.json"' in page
    assert "<td>Rolling average method</td><td>Annualizing method</td>" in page
    printed = pdf_text(files[f"records/{correction.reference}.pdf"].write())
    assert f"Replaced by {amended}" in printed
    assert "Right method Rolling average method, from the beginning" in printed


def test_the_printed_record_of_an_appliance_names_both_methods(officer, store):
    correction = correct(officer, store)
    chiller = store.appliances.get(name="Chiller 1")

    def printed(known_at):
        record = appliance_record(chiller, as_of=day("2026-06-30"), known_at=known_at)
        return render_to_string("compliance/print/appliance_record_register.html", {"record": record})

    page = printed(noon(day("2026-12-31")))
    assert "Rolling average method, for the whole facility" in page
    assert (
        f"the register named the annualizing method by mistake, corrected by {correction}, filed on 2026-08-04"
        in page
    )
    before = printed(FILED_AT - datetime.timedelta(seconds=1))
    assert "Annualizing method, for the whole facility" in before
    assert str(correction) not in before
