"""The kept estimates and their pages: which are made anew, in which order they stand, what they say."""

import datetime

import pytest
from django.urls import reverse

from compliance.models import ApplianceForecast, TaskRun
from compliance.selectors.forecasts import (
    ForecastFilter,
    appliance_forecast,
    appliances_to_forecast,
    forecasts,
)
from compliance.services.forecasts import forecasts_refresh
from compliance.tasks import forecast_charges
from tests.compliance.firm import add_appliance, add_customer, add_site, amend, day, file, noon

pytestmark = pytest.mark.django_db

NOW = noon(day("2026-06-11"))
CHARGED_ON = ("2025-12-17", "2026-02-05", "2026-03-02", "2026-06-10")
LIST = reverse("forecast-list")


def _charged(admin, appliance, days=CHARGED_ON, mass="4"):
    return [file(admin, appliance, on, added=[(mass, None)]) for on in days]


def _words(page):
    return page.text.replace("\u00a0", " ")


@pytest.fixture
def leaky(admin, chiller):
    """100 lb that took 4 lb after 50, 25 and 100 days."""
    _charged(admin, chiller)
    return chiller


def test_what_is_kept_is_what_the_appliance_alone_would_give(leaky):
    assert forecasts_refresh(now=NOW) == 1

    kept, alone = ApplianceForecast.objects.get(), appliance_forecast(leaky, NOW)
    assert (kept.earliest_on, kept.next_on, kept.latest_on) == (
        alone.earliest_on,
        alone.middle.on,
        alone.latest_on,
    )
    assert (kept.outcome_count, kept.over_count, kept.over_soon_count) == (3, 3, 2)
    assert (kept.usual_mg, kept.rate_pct) == (alone.usual_mg, alone.middle.rate.percent_rounded)


def test_an_appliance_charged_too_seldom_is_left_alone(admin, chiller):
    _charged(admin, chiller, CHARGED_ON[:2])

    assert forecasts_refresh(now=NOW) == 0


def test_an_estimate_is_made_anew_when_the_day_or_a_record_changes(admin, leaky):
    forecasts_refresh(now=NOW)
    assert not appliances_to_forecast(NOW).exists()

    assert appliances_to_forecast(NOW + datetime.timedelta(days=1)).get() == leaky
    file(admin, leaky, "2026-06-11", added=[("4", None)])
    assert appliances_to_forecast(NOW).get() == leaky
    forecasts_refresh(now=NOW)
    assert not appliances_to_forecast(NOW).exists()


def test_an_amendment_counts_at_once(admin, chiller):
    events = _charged(admin, chiller)
    forecasts_refresh(now=NOW)

    amend(admin, events[-1], "2026-06-10", filed_at=NOW, added=[("8", None)])
    forecasts_refresh(now=NOW)

    # The lower of the two in the middle of 4, 4 and 8 lb stays 4 lb; the last interval now lost 8 lb in 100 days.
    assert ApplianceForecast.objects.get().latest_on == day("2026-07-30")


def test_the_task_makes_all_and_says_how_many(admin, leaky, time_machine):
    second = add_appliance(admin, name="Chiller 2")
    _charged(admin, second)
    time_machine.move_to(NOW)

    forecast_charges()

    assert ApplianceForecast.objects.count() == 2
    assert TaskRun.objects.get(name="compliance.tasks.forecast_charges").outcome == "2 estimated"


def test_the_most_likely_to_go_over_soon_come_first(admin, leaky):
    slow = add_appliance(admin, name="Slow")
    _charged(admin, slow, ("2025-02-01", "2025-09-01", "2026-03-01"), mass="1")
    forecasts_refresh(now=NOW)

    assert [row.appliance for row in forecasts(ForecastFilter())] == [leaky, slow]
    assert [row.appliance for row in forecasts(ForecastFilter(is_soon=True))] == [leaky]


def test_the_list_can_be_searched_and_narrowed(client, admin, officer, leaky):
    elsewhere = add_site(admin, add_customer(admin, "Quarry Hotel"), "Cellar")
    other = add_appliance(admin, site=elsewhere, name="Ice machine")
    _charged(admin, other)
    forecasts_refresh(now=NOW)
    client.force_login(officer)

    found = client.get(LIST, {"q": "quarry ice"}).context["forecasts"]
    theirs = client.get(LIST, {"customer": elsewhere.customer_id}).context["forecasts"]
    wrong = client.get(LIST, {"customer": "no such"})

    assert [row.appliance for row in found] == [row.appliance for row in theirs] == [other]
    assert "Select a valid choice" in wrong.text or "no such" in wrong.text


def test_the_list_says_that_it_is_an_estimate_and_of_what(client, officer, leaky):
    forecasts_refresh(now=NOW)
    client.force_login(officer)

    text = _words(client.get(LIST))

    for words in ("An estimate, no finding", "2026-07-30", "2026-07-05", "2026-09-18", "4.000 lb", "29.20 %"):
        assert words in text
    assert "in 2 of 3 past intervals" in text


def test_an_empty_firm_gets_a_proper_page(client, officer):
    client.force_login(officer)

    assert "No estimates yet" in client.get(LIST).text
    assert "Nothing matches" in client.get(LIST, {"q": "x"}).text


def test_the_appliance_page_shows_how_it_is_reckoned(client, officer, leaky, time_machine):
    time_machine.move_to(NOW)
    client.force_login(officer)

    text = _words(client.get(reverse("appliance-detail", args=[leaky.pk])))

    for words in ("Next charge, an estimate", "4.000 lb in 25 days", "58.40 %", "in about 50 of 100 cases"):
        assert words in text


def test_an_appliance_without_history_says_why(client, officer, chiller, time_machine):
    time_machine.move_to(NOW)
    client.force_login(officer)

    assert "charged too seldom" in client.get(reverse("appliance-detail", args=[chiller.pk])).text


def test_strangers_see_none_of_it(client, stranger):
    client.force_login(stranger)

    assert client.get(LIST).status_code == 403
