"""A change of a facility's leak rate method: filed with the results of both, effective, amended, withdrawn, kept."""

import datetime
import json
import uuid
from dataclasses import replace

import pytest
from django.template.loader import render_to_string
from django.urls import reverse

from compliance.models import LeakRate
from compliance.selectors.appliance_record import appliance_record
from compliance.selectors.facts import appliance_facts, assess_appliance
from compliance.selectors.pack_contents import PackScope
from compliance.selectors.staleness import stale_appliances
from compliance.services.method_changes import (
    method_change_amend,
    method_change_file,
    method_change_withdraw,
)
from compliance.services.packs.files import pack_files
from jobs.models import LeakRateMethodChange
from jobs.selectors.method_changes import method_on
from jobs.services.customers import site_change
from jobs.services.verification import records_verify
from tests.compliance.facility_records.acts import CHANGE as ENTRY
from tests.compliance.facility_records.acts import CHANGED_AT as FILED_AT
from tests.compliance.facility_records.acts import pack_of
from tests.compliance.firm import add_appliance, add_customer, add_site, day, file, noon
from tests.compliance.reports.asking import pdf_text
from tests.jobs.refused import refused

pytestmark = pytest.mark.django_db

ADOPTED = "2026-06-02"


@pytest.fixture
def store(acquired_store):
    return acquired_store


def _file(officer, site, filed_at=FILED_AT, **fields):
    entry = replace(ENTRY, submission_id=uuid.uuid4(), **fields)
    return method_change_file(by=officer, site=site, entry=entry, filed_at=filed_at)


def _amend(officer, change, reason="Adopted later", **fields):
    entry = replace(ENTRY, submission_id=uuid.uuid4(), **fields)
    at = FILED_AT + datetime.timedelta(days=1)
    return method_change_amend(by=officer, change=change, entry=entry, reason=reason, filed_at=at)


def _withdraw(officer, change, reason="Wrong store"):
    at = FILED_AT + datetime.timedelta(days=2)
    return method_change_withdraw(by=officer, change=change, reason=reason, filed_at=at)


def _rates(site):
    rows = LeakRate.objects.filter(appliance__site=site).order_by("on")
    return [(str(row.on), row.method, str(row.rate_pct.normalize())) for row in rows]


def test_it_keeps_what_the_paragraph_wants_on_record(officer, store):
    change = _file(officer, store)

    # 40 CFR 84.106(l)(3): owner, facility, address, appliances, acquisition, both results, adoption, new method.
    assert (change.former_method, change.method, change.acquired_on) == (
        "annualizing",
        "rolling_average",
        day("2026-05-01"),
    )
    facility = change.facility
    assert facility["owner_or_operator"] == "Larkspur Grocers"
    assert facility["facility"] == "Acquired store"
    first, second = facility["appliances"]
    rate = {"on": "2026-02-02", "leak_rate_pct": "2.00", "threshold_pct": "10"}
    assert first["rates"] == {"annualizing": rate, "rolling_average": rate}
    assert second["rates"] == {"annualizing": None, "rolling_average": None}


def test_what_is_added_from_its_day_on_is_calculated_by_it(admin, officer, store):
    _file(officer, store)
    chiller = store.appliances.get(name="Chiller 1")

    file(admin, chiller, "2026-06-02", filed_at=noon(day("2026-06-05")), added=[("1", None)])

    # 1 + 2 lb of 100 lb in the year; annualized over the 120 days since, 1 lb would be 3.04 % (40 CFR 82.152).
    assert _rates(store) == [("2026-02-02", "annualizing", "2"), ("2026-06-02", "rolling_average", "3")]


def test_late_records_of_days_before_it_follow_the_former_method(admin, officer, store):
    _file(officer, store)
    chiller = store.appliances.get(name="Chiller 1")

    file(admin, chiller, "2026-06-01", filed_at=noon(day("2026-06-05")), added=[("1", None)])

    assert _rates(store)[1][1] == "annualizing"


def test_as_known_before_it_was_filed_nothing_has_changed(admin, officer, store):
    chiller = store.appliances.get(name="Chiller 1")
    file(admin, chiller, "2026-06-03", added=[("1", None)])
    _file(officer, store)

    def method(known_at=None):
        answer = assess_appliance(chiller, as_of=day("2026-06-30"), known_at=known_at)
        return answer.leak_rates[-1].method

    assert method() == "rolling_average"
    assert method(FILED_AT - datetime.timedelta(seconds=1)) == "annualizing"
    assert appliance_facts(chiller)[0].leak_rate_method == "annualizing"


@pytest.mark.parametrize(
    ("fields", "field", "citation"),
    [
        ({"acquired_on": None}, "acquired_on", "40 CFR 84.106(b)(3)"),
        ({"acquired_from": " "}, "acquired_from", "40 CFR 84.106(l)(3)"),
        ({"decided_by": ""}, "decided_by", "40 CFR 84.106(l)(3)"),
        ({"method": "annualizing"}, "method", "40 CFR 84.106(b)(3)"),
        ({"method": "guess"}, "method", "40 CFR 84.106(b)(3)"),
        ({"happened_on": day("2026-06-05")}, "happened_on", ""),
        ({"is_owners_method": False}, "is_owners_method", "40 CFR 84.106(b)(3)"),
    ],
)
def test_it_is_refused_at_the_field_with_the_paragraph(officer, store, fields, field, citation):
    refusals = refused(_file, officer, store, **fields)

    assert refusals[field].citation == citation
    assert not LeakRateMethodChange.objects.exists()


def test_it_is_refused_while_an_appliance_exceeds_its_rate(admin, officer, store):
    file(admin, store.appliances.get(name="Chiller 2"), "2026-03-02", added=[("12", None)])

    assert "Chiller 2 was at 12.00 % on 2026-03-02" in refused(_file, officer, store)["method"].expected


@pytest.mark.parametrize(("others", "is_refused"), [("rolling_average", False), ("annualizing", True)])
def test_the_owners_other_sites_on_record_use_the_new_method(admin, officer, store, others, is_refused):
    add_site(admin, store.customer, "Own store", leak_rate_method=others)

    if is_refused:
        assert (
            "those on record use the annualizing method" in refused(_file, officer, store)["method"].expected
        )
    else:
        _file(officer, store)


def test_an_amendment_takes_its_place(admin, officer, store):
    chiller = store.appliances.get(name="Chiller 1")
    file(admin, chiller, "2026-06-03", added=[("1", None)])
    change = _file(officer, store)
    assert _rates(store)[1][1] == "rolling_average"

    amended = _amend(officer, change, happened_on=day("2026-06-04"))

    assert (amended.supersedes, amended.original) == (change, change)
    assert _rates(store)[1][1] == "annualizing"
    assert refused(_amend, officer, change).keys() == {"change"}
    assert refused(_amend, officer, amended, reason=" ").keys() == {"reason"}
    assert list(records_verify()) == []


def test_a_withdrawal_brings_the_former_method_back(admin, officer, store):
    chiller = store.appliances.get(name="Chiller 1")
    change = _file(officer, store)
    file(admin, chiller, "2026-06-03", filed_at=noon(day("2026-06-05")), added=[("1", None)])

    void = _withdraw(officer, change)

    assert void.is_void
    assert _rates(store)[1][1] == "annualizing"
    assert method_on(store, day("2026-12-31")) == "annualizing"
    assert refused(_withdraw, officer, change).keys() == {"change"}
    assert refused(_withdraw, officer, void).keys() == {"change"}


def test_one_that_a_later_change_rests_on_stays(officer, store):
    change = _file(officer, store, happened_on=day("2026-05-04"))
    later = _file(officer, store, method="annualizing", acquired_on=day("2026-05-20"))

    assert str(later) in refused(_withdraw, officer, change)["change"].expected
    assert (method_on(store, day("2026-06-01")), method_on(store, day(ADOPTED))) == (
        "rolling_average",
        "annualizing",
    )


def test_the_register_keeps_the_method_once_a_leak_rate_may_rest_on_it(admin, store):
    refusal = refused(site_change, by=admin, site=store, leak_rate_method="rolling_average")[
        "leak_rate_method"
    ]

    assert refusal.citation == "40 CFR 84.106(b)(3)"
    other = add_site(admin, store.customer, "Empty store")
    assert site_change(by=admin, site=other, leak_rate_method="rolling_average").pk


def test_elsewhere_the_register_is_free_since_no_rule_asks_for_a_leak_rate(admin):
    site = add_site(admin, add_customer(admin), "Abroad", jurisdiction="eu")
    file(admin, add_appliance(admin, site=site), "2026-02-02", added=[("2", None)])

    assert site_change(by=admin, site=site, leak_rate_method="rolling_average").pk


def test_a_record_pack_holds_it_with_all_its_versions(officer, store):
    change = _file(officer, store)
    amended = _amend(officer, change)

    files = pack_of(store)

    kept = json.loads(files[f"records/{change.reference}.json"].write())
    assert kept["facility"]["appliances"][0]["rates"]["annualizing"]["leak_rate_pct"] == "2.00"
    chains = json.loads(files["chains.json"].write())["chains"]
    named = [
        link["file"] for chain in chains for link in chain["links"] if link["record_kind"] == "method_change"
    ]
    assert sorted(named) == sorted(2 * [f"records/{row.reference}.json" for row in (change, amended)])
    index = files["index.csv"].write().decode("utf-8-sig")
    assert f"Leak rate method changed: as first filed; replaced by {amended}" in index
    page = files["index.html"].write().decode()
    assert f'href="records/{amended.reference}.json"' in page
    assert f'href="records/{amended.reference}.pdf"' in page
    printed = pdf_text(files[f"records/{change.reference}.pdf"].write())
    assert f"Replaced by {amended}" in printed
    assert "New method Rolling average method, from" in printed
    assert "2.00 % on" in printed


def test_a_pack_as_known_before_an_amendment_tells_of_none(officer, store):
    change = _file(officer, store)
    _amend(officer, change)
    scope = PackScope(day("2026-01-01"), day("2026-12-31"), FILED_AT, "the officer", FILED_AT, site=store)

    files = {file.path: file for file in pack_files(scope)}

    assert scope.method_change_ids == [change.pk]
    assert "Leak rate method changed: as first filed," in files["index.csv"].write().decode("utf-8-sig")
    assert "Replaced by" not in pdf_text(files[f"records/{change.reference}.pdf"].write())


def test_an_appliance_of_a_changed_site_is_assessed_anew(officer, store):
    assert not stale_appliances(FILED_AT).filter(site=store, assessment__isnull=False).exists()
    change = _file(officer, store)
    copied = {field.attname: getattr(change, field.attname) for field in change._meta.concrete_fields}
    later = FILED_AT + datetime.timedelta(hours=1)
    copied |= {"id": None, "submission_id": uuid.uuid4(), "supersedes_id": change.pk, "filed_at": later}

    LeakRateMethodChange.objects.create(**copied)

    assert stale_appliances(FILED_AT).filter(site=store).count() == 2


def test_the_printed_record_of_an_appliance_names_it(officer, store):
    change = _file(officer, store)
    chiller = store.appliances.get(name="Chiller 1")

    record = appliance_record(chiller, as_of=day("2026-06-30"), known_at=noon(day("2026-06-30")))
    page = render_to_string("compliance/print/appliance_record_register.html", {"record": record})

    assert "Annualizing method; rolling average method from 2026-06-02" in page
    assert f"changed by {change}, filed on 2026-06-04" in page


class TestPages:
    @pytest.fixture(autouse=True)
    def _today(self, time_machine):
        time_machine.move_to(FILED_AT)

    @pytest.fixture
    def desk(self, client, officer):
        client.force_login(officer)
        return client

    def _boxes(self, **changes):
        boxes = {name: getattr(ENTRY, name) for name in ("method", "acquired_from", "decided_by")}
        dates = {"happened_on": ADOPTED, "acquired_on": "2026-05-01"}
        return {**boxes, **dates, "is_owners_method": "on", "submission_id": str(uuid.uuid4()), **changes}

    def test_the_officer_files_it_from_the_sites_page(self, desk, store):
        page = desk.get(reverse("site-detail", args=[store.pk])).text
        address = reverse("method-change-add", args=[store.pk])
        assert address in page

        assert "Larkspur Grocers; now: annualizing method" in desk.get(address).text
        text = desk.post(address, self._boxes(), follow=True).text

        for words in (
            "Rolling average method, from",
            "2.00 % on 2026-02-02",
            "none calculated",
            "84.106(l)(3)",
        ):
            assert words in text
        page = desk.get(reverse("site-detail", args=[store.pk])).text
        assert "Annualizing method; rolling average method from 2026-06-02" in page
        assert reverse("method-change-detail", args=[LeakRateMethodChange.objects.get().pk]) in page

    def test_a_refusal_stands_at_its_field(self, desk, store):
        response = desk.post(
            reverse("method-change-add", args=[store.pk]), self._boxes(acquired_on="2026-06-03")
        )

        assert set(response.context["form"].errors) == {"acquired_on"}
        assert "40 CFR 84.106(b)(3)" in response.text

    def test_it_is_amended_and_withdrawn(self, desk, officer, store):
        change = _file(officer, store)
        boxes = self._boxes(decided_by="Jo Larkspur", reason="Another person")
        amended = desk.post(reverse("method-change-amend", args=[change.pk]), boxes, follow=True).text
        assert "Jo Larkspur" in amended
        assert "Another person" in amended

        newest = LeakRateMethodChange.objects.latest("pk")
        text = desk.post(
            reverse("method-change-withdraw", args=[newest.pk]),
            {"reason": "Wrong store", "submission_id": str(uuid.uuid4())},
            follow=True,
        ).text
        assert "counts no more" in text
        assert "Annualizing method, for all" in desk.get(reverse("site-detail", args=[store.pk])).text

    def test_the_office_and_technicians_read_it_and_file_none(
        self, client, admin, officer, technician_user, store
    ):
        change = _file(officer, store)

        for user in (admin, technician_user):
            client.force_login(user)
            assert client.get(reverse("method-change-detail", args=[change.pk])).status_code == 200
            assert client.get(reverse("method-change-add", args=[store.pk])).status_code == 403
            assert client.get(reverse("method-change-amend", args=[change.pk])).status_code == 403

    def test_the_registers_form_says_that_a_record_changes_it(self, client, admin, store):
        client.force_login(admin)

        page = client.get(reverse("site-change", args=[store.pk]))

        assert page.context["form"].fields["leak_rate_method"].disabled
        assert "a change is filed as a record" in page.text

    def test_the_appliances_page_and_record_tell_of_it(self, desk, officer, store):
        _file(officer, store)
        chiller = store.appliances.get(name="Chiller 1")

        page = desk.get(reverse("appliance-detail", args=[chiller.pk])).text

        assert "Annualizing method; rolling average method from 2026-06-02, for the whole facility" in page
