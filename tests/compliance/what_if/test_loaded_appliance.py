"""A real appliance's records as the beginning of a what-if: the same law, and a page that stays quick."""

import pytest
from django.urls import reverse

from compliance.models import LeakRate, Obligation
from compliance.selectors.what_if import FACTS_MAX, appliance_case, what_if
from jobs.models import CaseFiling, ServiceEvent
from tests.compliance.filings.acts import file_case, mothball
from tests.compliance.firm import (
    FOLLOW_UP,
    INITIAL,
    add_appliance,
    add_customer,
    add_site,
    day,
    file,
    leak,
    noon,
)
from tests.compliance.what_if.asking import PAGE, shown_case, words

pytestmark = pytest.mark.django_db

NOW = noon(day("2026-05-20"))


@pytest.fixture(autouse=True)
def _now(time_machine):
    time_machine.move_to(NOW)


@pytest.fixture
def worked_on(admin, chiller):
    """An appliance with most kinds of record: over the threshold, repaired, tested, mothballed, charged anew."""
    file(
        admin, chiller, "2026-02-01", added=[("2", None)], removed=[("0.5", None)], reason="seasonal_variance"
    )
    file(admin, chiller, "2026-03-02", added=[("12", "A")], found=["A"])
    leak_a = leak(chiller)
    file(admin, chiller, "2026-03-10", repaired=[leak_a], passed=[(INITIAL, leak_a)], evacuated=True)
    file(admin, chiller, "2026-03-12", stated=[("normal_operation", {})])
    file(admin, chiller, "2026-03-19", failed=[(FOLLOW_UP, leak_a)])
    mothball(admin, chiller, "2026-03-25")
    file(admin, chiller, "2026-04-20", added=[("3", leak_a)], inspected=True)
    file(admin, chiller, "2026-04-22", repaired=[leak_a], passed=[(INITIAL, leak_a), (FOLLOW_UP, leak_a)])
    file(admin, chiller, "2026-05-04", stated=[("full_charge_change", {"full_charge_mg": 36_287_390})])
    file_case(admin, chiller, "automatic_leak_detection", "2026-05-06")
    return chiller


def test_it_gives_the_rates_and_obligations_that_are_stored(client, technician_user, worked_on):
    client.force_login(technician_user)

    answer = client.get(f"{PAGE}?appliance={worked_on.pk}").context["result"].answer

    stored_rates = LeakRate.objects.filter(appliance=worked_on).order_by("position")
    assert [
        (rate.on, rate.rule, rate.percent_rounded, rate.because, rate.event) for rate in answer.leak_rates
    ] == [(rate.on, rate.rule, rate.rate_pct, rate.because, rate.event.reference) for rate in stored_rates]
    stored = Obligation.objects.filter(appliance=worked_on)
    assert len(stored) > 5
    # The last record was filed on an earlier day: what time alone changed since shows on neither.
    assert sorted(
        (row.rule, row.kind, row.opened_on, row.due_on, row.met_on, row.because) for row in answer.obligations
    ) == sorted((row.rule, row.kind, row.opened_on, row.due_on, row.met_on, row.because) for row in stored)


def test_each_site_brings_its_own_rules_method_and_day(client, officer, admin):
    site = add_site(
        admin,
        add_customer(admin),
        "Werk 2",
        jurisdiction="eu",
        country="DE",
        time_zone="Pacific/Kiritimati",
        leak_rate_method="rolling_average",
    )
    client.force_login(officer)

    case = shown_case(client.get(f"{PAGE}?appliance={add_appliance(admin, site=site).pk}"))

    # 18:00 in Greenwich is the next morning there, 14 hours ahead.
    assert (case["rules"], case["as_of"]) == (["eu"], "2026-05-21")
    assert case["appliance"]["leak_rate_method"] == "rolling_average"


def test_an_appliance_on_which_nothing_was_done_yet_is_a_history_without_facts(client, officer, chiller):
    client.force_login(officer)

    response = client.get(f"{PAGE}?appliance={chiller.pk}")

    assert shown_case(response)["facts"] == []
    assert "It began with the records of Chiller 1; what you change here changes none of them." in words(
        response
    )


@pytest.mark.parametrize("number", ["0", "999", "x", "9" * 30])
def test_an_appliance_that_isnt_there_leaves_the_page_blank(client, officer, number):
    client.force_login(officer)

    response = client.get(f"{PAGE}?appliance={number}")

    assert response.status_code == 200
    assert "No answer yet" in words(response)


def test_the_page_takes_a_fixed_number_of_queries(
    client, admin, officer, worked_on, django_assert_num_queries
):
    client.force_login(officer)
    client.get(PAGE)

    with django_assert_num_queries(14):
        client.get(f"{PAGE}?appliance={worked_on.pk}")
    file(admin, worked_on, "2026-05-10", added=[("1", None), ("2", leak(worked_on))], found=["B"])
    with django_assert_num_queries(14):
        client.get(f"{PAGE}?appliance={worked_on.pk}")


def test_the_appliances_page_and_the_event_form_lead_to_it(client, technician_user, chiller):
    client.force_login(technician_user)

    for name in ("appliance-detail", "event-add"):
        assert f'href="{PAGE}?appliance={chiller.pk}"' in client.get(reverse(name, args=[chiller.pk])).text


def test_asking_keeps_where_it_began(client, officer, chiller):
    client.force_login(officer)
    response = client.post(
        PAGE, {"do": "read", "json": _json(client, chiller), "appliance": chiller.pk}, follow=True
    )

    assert f"appliance={chiller.pk}" in response.redirect_chain[0][0]
    assert "It began with the records of Chiller 1" in words(response)


def _json(client, appliance):
    return client.get(f"{PAGE}?appliance={appliance.pk}").context["json"]


def test_the_facts_come_from_the_records_that_stand(worked_on):
    case = appliance_case(worked_on, NOW)

    references = {fact["event"] for fact in case["facts"]}
    records = (*ServiceEvent.objects.all(), *CaseFiling.objects.all())
    assert references == {record.reference for record in records}
    assert len(case["facts"]) < FACTS_MAX
    assert what_if(case).case == case
