"""One appliance's page: register, charge, books, leak rates with their arithmetic, obligations, visits, history."""

import pytest
from django.urls import reverse
from django.utils.html import strip_tags

from compliance.selectors.appliance_page import appliance_page
from compliance.selectors.headroom import appliance_headroom
from jobs.services.appliances import appliance_change
from tests.compliance.filings.acts import file_case, mothball
from tests.compliance.firm import (
    add_appliance,
    add_customer,
    add_site,
    amend,
    day,
    file,
    noon,
    over_the_threshold,
)

pytestmark = pytest.mark.django_db

NOW = noon(day("2026-03-16"))


@pytest.fixture(autouse=True)
def _now(time_machine):
    time_machine.move_to(NOW)


def _page(appliance):
    return reverse("appliance-detail", args=[appliance.pk])


def test_the_page_tells_all_of_it(client, officer, admin, chiller):
    event = over_the_threshold(admin, chiller, "2026-03-02")
    client.force_login(officer)

    text = strip_tags(client.get(_page(chiller)).text).replace("\u00a0", " ")

    for words in (
        "100.000 lb (45.359 kg)",
        "Annualizing method",
        "12.00",
        "over the 10 % threshold",
        "40 CFR 84.106(b)(1)",
        "Due in 16 days",
        event.reference,
        "Added 12.000 lb of R-410A for Leak 1.",
        "Registered by Odile Marchetti",
    ):
        assert words in text


def test_what_the_books_hold_beyond_the_full_charge_has_leaked(admin, chiller):
    over_the_threshold(admin, chiller, "2026-03-02")

    books = appliance_page(chiller, NOW).books

    # Registered with its full charge of 100 lb; 12 lb went in since: 12 lb = 5 443 108 mg.
    assert (books.balance_mg - chiller.full_charge_mg, books.lost_mg) == (5_443_108, 5_443_108)


def test_a_charge_that_a_record_changed_stands_beside_the_registered_one(client, officer, admin, chiller):
    file(admin, chiller, "2026-03-02", stated=[("full_charge_change", {"full_charge_mg": 36_287_390})])
    client.force_login(officer)

    text = client.get(_page(chiller)).text.replace("\u00a0", " ")

    assert "80.000 lb (36.287 kg) (registered with 100.000 lb (45.359 kg))" in text


def test_the_rules_say_why_they_apply_or_dont(admin, chiller):
    page = appliance_page(chiller, NOW)

    assert [verdict.rule for verdict in page.applies] == ["us-federal-hfc"]
    assert [verdict.rule for verdict in page.does_not_apply] == ["us-federal-ods"]


def test_an_amended_visit_shows_as_amended_and_a_void_one_not_at_all(admin, chiller):
    event = over_the_threshold(admin, chiller, "2026-03-02")
    amended = amend(admin, event, "2026-03-02", filed_at=NOW, added=[("2", None)])

    page = appliance_page(chiller, NOW)

    assert [entry.event for entry in page.history] == [amended]
    assert [float(rate.rate_pct) for rate in page.rates] == [2.0]


def test_a_warning_about_the_records_is_shown(client, officer, admin, chiller):
    mothball(admin, chiller, "2026-03-02")
    file_case(admin, chiller, "returned_to_service", "2026-03-09")
    client.force_login(officer)

    assert "Please check the records." in client.get(_page(chiller)).text


@pytest.mark.parametrize(("refrigerant", "is_flammable"), [("R-410A", False), ("R-32", True)])
def test_a_flammable_refrigerant_is_cautioned_about(client, officer, admin, refrigerant, is_flammable):
    """ASHRAE 34: R-410A is A1, R-32 is A2L."""
    appliance = add_appliance(admin, "Chiller 2", refrigerant=refrigerant)
    client.force_login(officer)

    assert ("Flammable refrigerant" in client.get(_page(appliance)).text) is is_flammable


def test_a_site_elsewhere_is_judged_by_its_own_rules(admin):
    site = add_site(
        admin, add_customer(admin), "Werk 2", jurisdiction="eu", country="DE", time_zone="Europe/Berlin"
    )
    appliance = add_appliance(admin, site=site)

    page = appliance_page(appliance, NOW)

    assert {verdict.rule for verdict in (*page.applies, *page.does_not_apply)} == {"eu"}
    assert {row.kind for row in page.obligations} == set()


def test_a_change_of_the_register_is_told(client, officer, admin, chiller):
    appliance_change(by=admin, appliance=chiller, location="Roof")
    client.force_login(officer)

    assert "nothing → Roof" in client.get(_page(chiller)).text


def test_headroom_is_what_stays_at_or_under_the_threshold(admin, chiller):
    """40 CFR 84.106(b)(1), (c)(2): at the first calculation 10 % of 100 lb over 365 days, 10 lb = 4 535 923 mg."""
    assert appliance_headroom(chiller, day("2026-03-16")).mass_mg == 4_535_923


def test_headroom_can_leave_out_the_event_that_is_being_amended(admin, chiller):
    event = over_the_threshold(admin, chiller, "2026-03-02")

    with_it = appliance_headroom(chiller, day("2026-03-16"))
    without_it = appliance_headroom(chiller, day("2026-03-16"), without=event)

    # Fourteen days after an addition: 100 lb * 10 % * 14 / 365 = 0.3836 lb, rounded down to the milligram.
    assert with_it.mass_mg == 173_980
    assert without_it.mass_mg == 4_535_923


def test_who_may_see_the_page(client, officer, technician_user, admin, stranger, chiller):
    for user, status in ((officer, 200), (technician_user, 200), (admin, 200), (stranger, 403)):
        client.force_login(user)

        assert client.get(_page(chiller)).status_code == status


def test_who_is_offered_what(client, officer, technician_user, admin, chiller):
    add, change = reverse("event-add", args=[chiller.pk]), reverse("appliance-change", args=[chiller.pk])
    offered = {}
    for user in (officer, technician_user, admin):
        client.force_login(user)
        text = client.get(_page(chiller)).text
        offered[user] = (add in text, change in text)

    assert list(offered.values()) == [(False, False), (True, False), (False, True)]


def test_the_page_takes_a_fixed_number_of_queries(client, admin, officer, chiller, django_assert_num_queries):
    over_the_threshold(admin, chiller, "2026-03-02")
    client.force_login(officer)
    client.get(_page(chiller))
    for number in range(5):
        file(admin, chiller, f"2026-03-0{number + 3}", added=[("1", None)])

    with django_assert_num_queries(39):
        client.get(_page(chiller))
