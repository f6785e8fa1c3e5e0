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
from django.urls import reverse

from compliance.models import ApplianceAssessment, LeakRate, Obligation
from compliance.selectors.appliance_record import appliance_record
from compliance.selectors.event_record import whole_events
from compliance.selectors.facts import appliance_facts, assess_appliance
from compliance.selectors.facts_in_bulk import facts_in_bulk
from compliance.selectors.forecasts import appliances_to_forecast
from compliance.selectors.pack_contents import PackScope
from compliance.selectors.service_record import service_record
from compliance.selectors.staleness import with_answers_that_hold
from compliance.services.assessments import appliances_reassess
from compliance.services.forecasts import forecasts_refresh
from compliance.services.method_changes import (
    MethodChangeEntry,
    method_change_file,
    method_change_withdraw,
)
from compliance.services.method_corrections import (
    MethodCorrectionEntry,
    method_correction_amend,
    method_correction_file,
    method_correction_withdraw,
)
from compliance.services.packs.files import pack_files
from jobs.errors import FiledRecordIsFixed
from jobs.models import ChainLink, LeakRateMethodCorrection, Site
from jobs.services.customers import site_change
from jobs.services.verification import records_verify
from tests.compliance.firm import add_appliance, add_customer, add_site, day, file, noon
from tests.compliance.reports.asking import pdf_text
from tests.jobs.refused import refused

pytestmark = pytest.mark.django_db

FILED_AT = noon(day("2026-08-04"))
ENTRY = MethodCorrectionEntry(
    method="rolling_average",
    mistake="The wrong box was ticked when the site was registered",
    shown_by="The owner’s sheets of 2026-02-02 and 2026-06-02",
    is_mistake=True,
)
CHANGE = MethodChangeEntry(
    method="rolling_average",
    happened_on=day("2026-07-01"),
    acquired_on=day("2026-05-01"),
    acquired_from="Larkspur Holdings",
    is_owners_method=True,
    decided_by="Ida Larkspur",
)


@pytest.fixture
def store(admin):
    """Registered as annualizing, though it used the rolling average: 2 lb, then 4 lb into one of two chillers."""
    site = add_site(admin, add_customer(admin), "Corner store")
    first = add_appliance(admin, "Chiller 1", site=site)
    add_appliance(admin, "Chiller 2", site=site)
    file(admin, first, "2026-02-02", added=[("2", None)])
    file(admin, first, "2026-06-02", added=[("4", None)])
    return site


@pytest.fixture
def quiet_store(admin):
    """The same with 2 lb alone, so that no method finds anything exceeded."""
    site = add_site(admin, add_customer(admin), "Quiet store")
    file(admin, add_appliance(admin, "Chiller 3", site=site), "2026-02-02", added=[("2", None)])
    return site


def _at(days: int) -> datetime.datetime:
    return FILED_AT + datetime.timedelta(days=days)


def _file(officer, site, **fields):
    # As in the portal, the register's history bears the time of the filing.
    with time_machine.travel(FILED_AT, tick=False):
        entry = replace(ENTRY, submission_id=uuid.uuid4(), **fields)
        return method_correction_file(by=officer, site=site, entry=entry)


def _amend(officer, correction, reason="Found more sheets", **fields):
    with time_machine.travel(_at(1), tick=False):
        entry = replace(ENTRY, submission_id=uuid.uuid4(), **fields)
        return method_correction_amend(by=officer, correction=correction, entry=entry, reason=reason)


def _withdraw(officer, correction, reason="The register was right"):
    with time_machine.travel(_at(2), tick=False):
        return method_correction_withdraw(by=officer, correction=correction, reason=reason)


def _change(officer, site, **fields):
    entry = replace(CHANGE, submission_id=uuid.uuid4(), **fields)
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

    correction = _file(officer, store)

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

    _file(officer, site, method="annualizing")

    # 30 days from the addition by which it was found (40 CFR 84.106(d)), a month before the correction.
    repair = Obligation.objects.get(appliance=chiller, kind="repair")
    assert (repair.opened_on, repair.due_on, repair.status) == (
        day("2026-06-02"),
        day("2026-07-02"),
        "overdue",
    )


def test_what_is_kept_is_what_a_rebuild_gives(officer, store):
    _file(officer, store)
    kept = _kept(store)

    ids = list(store.appliances.values_list("pk", flat=True))
    appliances_reassess(appliance_ids=ids, now=FILED_AT, is_rebuild=True)

    assert _kept(store) == kept


def test_the_appliance_is_described_by_the_right_method_and_no_fact_is_added(officer, store):
    chiller = store.appliances.get(name="Chiller 1")
    _, facts = appliance_facts(chiller)

    _file(officer, store)

    described, facts_now = appliance_facts(store.appliances.select_related("site").get(pk=chiller.pk))
    assert described.leak_rate_method == "rolling_average"
    assert facts_now == facts


def test_as_known_before_it_was_filed_the_register_named_the_other(officer, store):
    _file(officer, store)
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
    _file(officer, store)
    assert rates() == [("annualizing", "12.17")]


def test_a_report_as_known_before_takes_none_of_the_answers_kept_since(officer, store):
    _file(officer, store)
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
    _file(officer, store)

    newest, first = store.history.order_by("-history_date")
    assert (first.leak_rate_method, newest.leak_rate_method) == ("annualizing", "rolling_average")
    assert (newest.history_user, newest.history_date) == (officer, FILED_AT)


def test_it_keeps_the_newest_rates_by_either_method(officer, store):
    first, second = _file(officer, store).facility["appliances"]

    assert first["rates"] == {
        "annualizing": {"on": "2026-06-02", "leak_rate_pct": "12.17", "threshold_pct": "10"},
        "rolling_average": {"on": "2026-06-02", "leak_rate_pct": "6.00", "threshold_pct": "10"},
    }
    assert second["rates"] == {"annualizing": None, "rolling_average": None}


def test_it_holds_for_appliances_with_ozone_depleting_refrigerants_too(admin, officer):
    site = add_site(admin, add_customer(admin), "Old store")
    chiller = add_appliance(admin, "Chiller 5", site=site, refrigerant="R-22")
    file(admin, chiller, "2026-02-02", added=[("2", None)])

    (row,) = _file(officer, site).facility["appliances"]

    # 40 CFR 82.152 knows no change of method, but what the register says is ours to put right.
    assert row["rates"]["rolling_average"]["leak_rate_pct"] == "2.00"
    assert {method for _, method, *_ in _rates(site)} == {"rolling_average"}


def test_it_stands_in_the_chain_of_each_appliance(officer, store):
    correction = _file(officer, store)

    links = ChainLink.objects.filter(record_kind="method_correction", record_id=correction.pk)
    assert sorted(links.values_list("chain", flat=True)) == [
        f"appliance:{row.pk}" for row in store.appliances.order_by("pk")
    ]
    assert list(records_verify()) == []


def test_one_that_stands_in_no_chain_is_found(officer, store):
    correction = _file(officer, store)
    copied = {field.attname: getattr(correction, field.attname) for field in correction._meta.concrete_fields}
    copied |= {"id": None, "submission_id": uuid.uuid4(), "supersedes_id": correction.pk}

    smuggled = LeakRateMethodCorrection.objects.create(**copied)

    found = {(broken.record_kind, broken.record_id) for broken in records_verify()}
    assert found == {("method_correction", smuggled.pk)}


def test_it_is_never_edited_or_deleted(officer, store):
    correction = _file(officer, store)

    correction.mistake = "Somebody else"
    with pytest.raises(FiledRecordIsFixed):
        correction.save()
    with pytest.raises(FiledRecordIsFixed):
        correction.delete()


def test_sent_twice_it_is_filed_once(officer, store):
    first = method_correction_file(by=officer, site=store, entry=ENTRY, filed_at=FILED_AT)

    assert method_correction_file(by=officer, site=store, entry=ENTRY, filed_at=FILED_AT) == first
    assert LeakRateMethodCorrection.objects.count() == 1


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
    assert expected in refused(_file, officer, store, **fields)[field].expected

    assert not LeakRateMethodCorrection.objects.exists()
    assert Site.objects.get(pk=store.pk).leak_rate_method == "annualizing"
    assert _rates(store)[1][1] == "annualizing"


def test_a_change_of_method_in_its_guise_is_refused_with_the_paragraph(officer, store):
    refusal = refused(_file, officer, store, is_mistake=False)["is_mistake"]

    assert refusal.citation == "40 CFR 84.106(b)(3)"


def test_while_the_entry_is_free_it_is_changed_on_its_own_form(admin, officer):
    empty = add_site(admin, add_customer(admin), "Empty store")
    abroad = add_site(admin, empty.customer, "Abroad", jurisdiction="eu")
    file(admin, add_appliance(admin, site=abroad), "2026-02-02", added=[("2", None)])

    for site in (empty, abroad):
        assert "on the site’s own form" in refused(_file, officer, site)["method"].expected


def test_the_register_stays_fixed_after_it(admin, officer, store):
    _file(officer, store)

    site = Site.objects.get(pk=store.pk)
    assert refused(site_change, by=admin, site=site, leak_rate_method="annualizing").keys() == {
        "leak_rate_method"
    }


def test_a_form_opened_before_it_takes_nothing_back(admin, officer, store):
    opened = Site.objects.get(pk=store.pk)
    _file(officer, store)

    assert "leak_rate_method" in refused(site_change, by=admin, site=opened, city="Galena")
    assert Site.objects.get(pk=store.pk).leak_rate_method == "rolling_average"


def test_a_second_one_is_the_withdrawal_of_the_first(officer, store):
    correction = _file(officer, store)

    assert str(correction) in refused(_file, officer, store, method="annualizing")["method"].expected


def test_none_is_filed_beside_a_change_that_names_the_entry(officer, quiet_store):
    change = _change(officer, quiet_store)

    assert str(change) in refused(_file, officer, quiet_store)["method"].expected
    method_change_withdraw(by=officer, change=change, reason="It was always so", filed_at=FILED_AT)
    assert _file(officer, quiet_store).method == "rolling_average"


def test_one_that_a_change_rests_on_stays(officer, quiet_store):
    correction = _file(officer, quiet_store)
    change = _change(officer, Site.objects.get(pk=quiet_store.pk), method="annualizing")

    assert change.former_method == "rolling_average"
    assert str(change) in refused(_withdraw, officer, correction)["correction"].expected


def test_an_amendment_takes_its_place_and_leaves_the_method(officer, store):
    correction = _file(officer, store)
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
    correction = _file(officer, store)

    void = _withdraw(officer, correction)

    assert void.is_void
    assert _rates(store) == before
    assert Obligation.objects.filter(appliance__site=store, kind="repair", status="overdue").exists()
    assert Site.objects.get(pk=store.pk).leak_rate_method == "annualizing"
    assert refused(_withdraw, officer, correction).keys() == {"correction"}
    assert refused(_withdraw, officer, void).keys() == {"correction"}
    assert list(records_verify()) == []
    assert _file(officer, store).pk


def test_estimates_of_next_charges_are_made_anew(admin, officer, store):
    chiller = store.appliances.get(name="Chiller 1")
    file(admin, chiller, "2026-07-02", added=[("1", None)])
    forecasts_refresh(now=FILED_AT)
    assert not appliances_to_forecast(FILED_AT).filter(site=store).exists()

    _file(officer, store)

    assert list(appliances_to_forecast(FILED_AT).filter(site=store)) == [chiller]


def test_a_record_pack_holds_it_with_all_its_versions(officer, store):
    correction = _file(officer, store)
    amended = _amend(officer, correction)
    scope = PackScope(day("2026-01-01"), day("2026-12-31"), noon(day("2026-12-31")), site=store)

    files = {file.path: file for file in pack_files(scope)}

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


def test_a_pack_as_known_before_it_was_filed_lacks_it(officer, store):
    correction = _file(officer, store)
    before = FILED_AT - datetime.timedelta(seconds=1)
    scope = PackScope(day("2026-01-01"), day("2026-12-31"), before, site=store)

    assert ("method_correction", correction.pk) not in scope.records
    kinds = {link.record_kind for links in scope.chains.values() for link in links}
    assert "method_correction" not in kinds


def test_the_printed_record_of_an_appliance_names_both_methods(officer, store):
    correction = _file(officer, store)
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


class TestPages:
    @pytest.fixture(autouse=True)
    def _today(self, time_machine):
        time_machine.move_to(FILED_AT)

    @pytest.fixture
    def desk(self, client, officer):
        client.force_login(officer)
        return client

    def _boxes(self, **changes):
        boxes = {name: getattr(ENTRY, name) for name in ("method", "mistake", "shown_by")}
        return {**boxes, "is_mistake": "on", "submission_id": str(uuid.uuid4()), **changes}

    def test_the_officer_files_it_from_the_sites_page(self, desk, store):
        page = desk.get(reverse("site-detail", args=[store.pk])).text
        address = reverse("method-correction-add", args=[store.pk])
        assert address in page

        form = desk.get(address).text
        assert "For a mistaken entry in the register only" in form
        assert "the register names: annualizing method" in form
        assert reverse("method-change-add", args=[store.pk]) in form
        text = desk.post(address, self._boxes(), follow=True).text

        for words in ("Rolling average method, from the beginning", "12.17 % on 2026-06-02", ENTRY.mistake):
            assert words in text
        page = desk.get(reverse("site-detail", args=[store.pk])).text
        assert "Rolling average method, for all appliances" in page
        assert "corrected the register, which named the annualizing method" in page
        assert address not in page

    def test_a_refusal_stands_at_its_field(self, desk, store):
        boxes = self._boxes()
        del boxes["is_mistake"]

        response = desk.post(reverse("method-correction-add", args=[store.pk]), boxes)

        assert set(response.context["form"].errors) == {"is_mistake"}
        assert "40 CFR 84.106(b)(3)" in response.text

    def test_it_is_amended_and_withdrawn(self, desk, officer, store):
        correction = _file(officer, store)
        boxes = self._boxes(shown_by="Another sheet", reason="The other was lost")
        amended = desk.post(reverse("method-correction-amend", args=[correction.pk]), boxes, follow=True).text
        assert "Another sheet" in amended
        assert "The other was lost" in amended

        newest = LeakRateMethodCorrection.objects.latest("pk")
        address = reverse("method-correction-withdraw", args=[newest.pk])
        assert "The register names that method again" in desk.get(address).text
        text = desk.post(
            address, {"reason": "It was right", "submission_id": str(uuid.uuid4())}, follow=True
        ).text
        assert "counts no more" in text
        assert "Annualizing method, for all" in desk.get(reverse("site-detail", args=[store.pk])).text

    def test_the_office_and_technicians_read_it_and_file_none(
        self, client, admin, officer, technician_user, store
    ):
        correction = _file(officer, store)

        for user in (admin, technician_user):
            client.force_login(user)
            assert str(correction) in client.get(reverse("site-detail", args=[store.pk])).text
            assert client.get(reverse("method-correction-detail", args=[correction.pk])).status_code == 200
            for act, pk in (("add", store.pk), ("amend", correction.pk), ("withdraw", correction.pk)):
                address = reverse(f"method-correction-{act}", args=[pk])
                assert client.get(address).status_code == 403
                assert client.post(address, self._boxes(reason="Why")).status_code == 403
        assert LeakRateMethodCorrection.objects.count() == 1

    def test_its_pages_take_no_more_queries_for_more_appliances(
        self, desk, admin, officer, store, django_assert_num_queries
    ):
        other = add_site(admin, store.customer, "Large store")
        for number in range(10, 20):
            add_appliance(admin, f"Chiller {number}", site=other)
        file(admin, other.appliances.first(), "2026-02-02", added=[("2", None)])

        for site in (store, other):
            with django_assert_num_queries(6):
                desk.get(reverse("method-correction-add", args=[site.pk]))
            correction = _file(officer, site)
            with django_assert_num_queries(8):
                desk.get(reverse("method-correction-detail", args=[correction.pk]))
