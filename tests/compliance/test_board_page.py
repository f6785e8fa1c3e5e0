"""The board: everything owed, by the date at each site, for those who may see it."""

import datetime

import pytest
from django.urls import reverse

from compliance.models import Obligation
from compliance.selectors.board import BoardFilter, board, board_counts, days_left
from tests.compliance.filings.acts import mothball
from tests.compliance.firm import (
    INITIAL,
    add_appliance,
    add_customer,
    add_site,
    add_technician,
    day,
    file,
    leak,
    noon,
    over_the_threshold,
)

pytestmark = pytest.mark.django_db

BOARD = "/board/"


@pytest.fixture
def firm(admin, technician_user):
    """Four appliances on 2 April 2026: overdue by a day, due in four days, due in 29, mothballed."""
    technician = add_technician(admin, technician_user)
    grocers, hospital = add_customer(admin), add_customer(admin, "Alder Hospital")
    appliances = {
        "overdue": add_appliance(admin, "Rack A", technician=technician),
        "soon": add_appliance(admin, "Chiller 7", site=add_site(admin, hospital, "Ward B")),
        "later": add_appliance(admin, "Chiller 8", site=add_site(admin, hospital, "Ward B")),
        "mothballed": add_appliance(admin, "Rack Z", site=add_site(admin, grocers, "Old depot")),
    }
    for name, on in (("overdue", 2), ("soon", 7), ("later", 31), ("mothballed", 20)):
        over_the_threshold(admin, appliances[name], f"2026-03-{on:02d}")
    mothball(admin, appliances["mothballed"], "2026-03-25")
    return appliances


@pytest.fixture(autouse=True)
def _second_of_april(time_machine):
    time_machine.move_to(noon(day("2026-04-02")))


def _rows(**wanted):
    rows = board(BoardFilter(**wanted), noon(day("2026-04-02")))
    return [(row.appliance.name, row.kind, row.stands, days_left(row)) for row in rows]


def test_what_is_overdue_comes_first_and_what_has_no_date_last(firm):
    assert [row for row in _rows() if row[1] == "repair"] == [
        ("Rack A", "repair", "overdue", -1),
        ("Chiller 7", "repair", "due_soon", 4),
        ("Chiller 8", "repair", "open", 28),
        ("Rack Z", "repair", "suspended", None),
    ]


def test_the_counts_say_how_much_there_is_of_each_state(firm):
    counts = board_counts(BoardFilter(), noon(day("2026-04-02")))

    assert (counts.overdue, counts.due_soon, counts.open, counts.suspended) == (2, 2, 4, 2)


@pytest.mark.parametrize(
    ("on", "stands"),
    [
        ("2026-03-24", "open"),
        ("2026-03-25", "due_soon"),
        ("2026-04-01", "due_soon"),
        ("2026-04-02", "overdue"),
    ],
)
def test_both_sides_of_due_soon_and_of_overdue(firm, on, stands):
    rows = board(BoardFilter(kind="repair"), noon(day(on)))

    assert rows.get(appliance=firm["overdue"]).stands == stands


def test_midnight_at_the_site_makes_overdue_before_any_new_assessment(admin):
    site = add_site(admin, add_customer(admin), "Harbour", time_zone="Pacific/Honolulu")
    over_the_threshold(admin, add_appliance(admin, site=site), "2026-03-02")

    def stands(hour):
        now = datetime.datetime(2026, 4, 2, hour, 30, tzinfo=datetime.UTC)
        return board(BoardFilter(kind="repair"), now).get().stands

    # Midnight in Honolulu is 10:00 UTC.
    assert (stands(9), stands(10)) == ("due_soon", "overdue")


def test_records_to_keep_and_what_is_settled_are_not_on_the_board(admin, firm):
    file(
        admin,
        firm["overdue"],
        "2026-04-01",
        repaired=[leak(firm["overdue"])],
        passed=[(INITIAL, leak(firm["overdue"]))],
    )

    kinds = {row[1] for row in _rows() if row[0] == "Rack A"}
    assert kinds == {"follow_up_verification_test"}
    assert Obligation.objects.filter(kind="record_retention", status="open").exists()


@pytest.mark.parametrize(
    ("wanted", "names"),
    [
        ({"search": "hospital ward"}, {"Chiller 7", "Chiller 8"}),
        ({"search": "R-410A okafor"}, {"Rack A"}),
        ({"search": "nothing like it"}, set()),
        ({"state": "overdue"}, {"Rack A"}),
        ({"state": "due_soon"}, {"Chiller 7"}),
        ({"state": "open"}, {"Chiller 7", "Chiller 8"}),
        ({"state": "suspended"}, {"Rack Z"}),
        ({"kind": "repair", "state": "overdue"}, {"Rack A"}),
        ({"kind": "leak_inspection"}, set()),
        ({"rule": "us-federal-hfc"}, {"Rack A", "Chiller 7", "Chiller 8", "Rack Z"}),
        ({"rule": "us-federal-ods"}, set()),
    ],
)
def test_the_filter_narrows(firm, wanted, names):
    assert {row[0] for row in _rows(**wanted)} == names


@pytest.mark.parametrize(
    ("sort", "first"),
    [("due", "Rack A"), ("opened", "Chiller 8"), ("customer", "Chiller 7"), ("technician", "Rack A")],
)
def test_the_order_can_be_chosen(firm, sort, first):
    assert _rows(sort=sort)[0][0] == first


def test_officer_technician_and_admin_see_it(client, firm, officer, technician_user, admin):
    for user in (officer, technician_user, admin):
        client.force_login(user)
        response = client.get(BOARD)

        assert response.status_code == 200
        assert "Rack A" in response.text


def test_a_stranger_and_people_outside_do_not(client, firm, stranger):
    assert client.get(BOARD).url.startswith(reverse("sign-in"))
    client.force_login(stranger)
    assert client.get(BOARD).status_code == 403


def test_the_page_says_each_thing_in_words(client, officer, firm):
    client.force_login(officer)

    text = client.get(BOARD).text

    for words in (
        "Leak repair",
        "1 day overdue",
        "Due in 4 days",
        "Suspended",
        "40 CFR 84.106(d)",
        "Tamsin Okafor",
    ):
        assert words in text


def test_a_date_that_rests_on_memory_is_marked(client, officer, firm):
    client.force_login(officer)
    assert "unconfirmed source" not in client.get(BOARD).text

    Obligation.objects.filter(appliance=firm["overdue"]).update(is_confirmed=False)

    assert "Rests on an unconfirmed source" in client.get(BOARD).text


def test_a_customer_and_a_technician_can_be_chosen(client, officer, firm):
    client.force_login(officer)
    hospital = firm["soon"].site.customer

    assert "Rack A" not in client.get(BOARD, {"customer": hospital.pk}).text
    assert "Chiller 7" not in client.get(BOARD, {"technician": firm["overdue"].technician_id}).text


def test_a_choice_that_isnt_there_narrows_nothing_and_says_so(client, officer, firm):
    client.force_login(officer)

    text = client.get(BOARD, {"state": "late"}).text

    assert "Rack A" in text
    assert "Expected one of the choices offered. You gave “late”." in text


def test_an_empty_board_says_what_it_is_waiting_for(client, officer):
    client.force_login(officer)

    assert "Nothing is owed" in client.get(BOARD).text


def test_a_filter_that_matches_nothing_offers_the_way_back(client, officer, firm):
    client.force_login(officer)

    text = client.get(BOARD, {"q": "zebra"}).text

    assert "Nothing matches" in text
    assert f'href="{BOARD}">Show all' in text


def test_the_filter_asks_for_the_list_alone(client, officer, firm):
    client.force_login(officer)

    text = client.get(BOARD, {"kind": "repair"}, headers={"HX-Request": "true"}).text

    assert "<html" not in text
    assert 'hx-swap-oob="true"' in text
    assert "Leak repair" in text


def test_going_back_in_the_browser_gives_the_whole_page(client, officer, firm):
    client.force_login(officer)
    headers = {"HX-Request": "true", "HX-History-Restore-Request": "true"}

    assert "<html" in client.get(BOARD, headers=headers).text


def test_the_list_is_paged_and_keeps_the_filter(client, admin, officer):
    for number in range(13):
        over_the_threshold(admin, add_appliance(admin, f"Chiller {number}"), "2026-03-02")
    client.force_login(officer)

    text = client.get(BOARD, {"rule": "us-federal-hfc", "page": 2}).text

    assert "26–26 of 26" in text
    assert "?rule=us-federal-hfc&amp;page=1" in text


def test_the_page_takes_a_fixed_number_of_queries(client, admin, officer, django_assert_num_queries):
    over_the_threshold(admin, add_appliance(admin, "Chiller 0"), "2026-03-02")
    client.force_login(officer)
    client.get(BOARD)
    for number in range(1, 8):
        over_the_threshold(admin, add_appliance(admin, f"Chiller {number}"), "2026-03-02")

    with django_assert_num_queries(16):
        client.get(BOARD)


def test_days_in_the_wrong_order_are_said(client, officer, firm):
    client.force_login(officer)

    page = client.get(BOARD, {"due_from": "2026-05-02", "due_to": "2026-05-01"})

    assert "Expected a date from 2026-05-02 on. You gave “2026-05-01”." in page.text


@pytest.mark.parametrize("suffix", ["csv", "xlsx"])
def test_a_wrong_filter_exports_nothing_and_the_board_says_why(client, officer, firm, suffix):
    client.force_login(officer)

    page = client.get(reverse(f"board-{suffix}"), {"due_from": "banana"}, follow=True)

    assert page.redirect_chain == [(f"{BOARD}?due_from=banana", 302)]
    assert "You gave “banana”." in page.text
