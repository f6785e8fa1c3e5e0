"""After a retrofit, every list names and finds an appliance by the refrigerant that it holds today."""

import datetime

import pytest
from django.urls import reverse

from compliance.selectors.event_pages import EventFilter, event_list
from jobs.models import StatementKind
from jobs.selectors.appliances import appliance_list, charge_in_force
from jobs.services.events import service_event_void
from tests.compliance.firm import amend, day, file, noon, over_the_threshold, pounds

pytestmark = pytest.mark.django_db

NOW = noon(day("2026-03-16"))


def _retrofit(refrigerant):
    details = {"refrigerant": refrigerant, "full_charge_mg": pounds("80").mass_mg}
    return {"stated": [(StatementKind.RETROFITTED, details)]}


@pytest.fixture
def retrofitted(admin, chiller, time_machine):
    """From R-410A to R-32 on 2 March, and over the threshold on the 10th."""
    time_machine.move_to(NOW)
    file(admin, chiller, "2026-03-02", **_retrofit("R-32"))
    over_the_threshold(admin, chiller, "2026-03-10")
    return chiller


PAGES = ["/appliances/", "/events/add/", "/board/"]


@pytest.mark.parametrize("page", PAGES)
def test_a_list_names_the_refrigerant_of_today(client, admin, officer, technician_user, retrofitted, page):
    client.force_login(technician_user if page == "/events/add/" else officer)

    text = client.get(page).text.split("<main")[1]

    assert "Chiller 1" in text
    assert "R-32" in text
    assert "R-410A" not in text


@pytest.mark.parametrize("page", PAGES)
@pytest.mark.parametrize(("search", "is_found"), [("r-32", True), ("R-410A", False)])
def test_a_list_finds_it_by_the_refrigerant_of_today(
    client, officer, technician_user, retrofitted, page, search, is_found
):
    client.force_login(technician_user if page == "/events/add/" else officer)

    text = client.get(page, {"q": search}).text

    assert (reverse("appliance-detail", args=[retrofitted.pk]) in text or "Chiller 1" in text) is is_found


def test_filed_events_are_found_by_it_too(retrofitted):
    assert event_list(EventFilter(search="R-32")).count() == 2


def _now(appliance):
    """As the list has it; the charge in force must say the same."""
    listed = appliance_list().get(pk=appliance.pk)
    charge = charge_in_force(appliance, datetime.date.max)
    assert (listed.refrigerant_now, listed.full_charge_now_mg) == (charge.refrigerant, charge.full_charge_mg)
    return listed.refrigerant_now


def test_an_appliance_holds_what_it_was_registered_with(chiller):
    assert _now(chiller) == "R-410A"


def test_a_change_of_the_full_charge_alone_keeps_the_refrigerant(admin, retrofitted):
    details = {"full_charge_mg": pounds("85").mass_mg, "method": "measurement"}
    file(admin, retrofitted, "2026-03-12", stated=[(StatementKind.FULL_CHARGE_CHANGE, details)])

    assert _now(retrofitted) == "R-32"


def test_the_newest_retrofit_in_legal_order_counts(admin, retrofitted):
    later = file(admin, retrofitted, "2026-03-12", **_retrofit("R-454B"))
    assert _now(retrofitted) == "R-454B"
    file(admin, retrofitted, "2026-03-12", **_retrofit("R-452B"))
    amend(admin, later, "2026-03-12", filed_at=NOW, **_retrofit("R-466A"))
    assert _now(retrofitted) == "R-452B"


def test_a_retrofit_that_was_voided_counts_for_nothing(admin, chiller):
    event = file(admin, chiller, "2026-03-02", **_retrofit("R-32"))
    service_event_void(by=admin, event=event, reason="Another appliance", filed_at=NOW)

    assert _now(chiller) == "R-410A"
