"""Who has an obligation: given by the officer, kept when it is derived anew, shown wherever it stands."""

import io

import openpyxl
import pytest
from django.core.management import call_command
from django.db import connection
from django.test.utils import CaptureQueriesContext

from compliance.models import Obligation, ObligationAssignment
from compliance.selectors.board import BoardFilter, BoardHolder, board
from compliance.services.assignments import obligation_assign
from jobs.errors import SubmissionRefused
from jobs.services.technicians import technician_change
from tests.compliance.firm import (
    add_appliance,
    add_customer,
    add_site,
    add_technician,
    day,
    noon,
    over_the_threshold,
)

pytestmark = pytest.mark.django_db

NOW = noon(day("2026-03-10"))


@pytest.fixture(autouse=True)
def _tenth_of_march(time_machine):
    time_machine.move_to(NOW)


@pytest.fixture
def okafor(admin, technician_user):
    return add_technician(admin, technician_user)


@pytest.fixture
def repair(admin, okafor):
    appliance = add_appliance(admin, "Rack A", technician=okafor)
    over_the_threshold(admin, appliance, "2026-03-02")
    return Obligation.objects.get(appliance=appliance, kind="repair")


def _names(**wanted):
    return {(row.kind, row.holder_name) for row in board(BoardFilter(**wanted), NOW)}


def test_the_appliances_technician_has_it_until_it_is_given_to_somebody(repair, admin, officer):
    other = add_technician(admin, full_name="Juno Falk")
    assert ("repair", "Tamsin Okafor") in _names()

    obligation_assign(by=officer, obligation=repair, technician=other, assigned_at=NOW)

    assert _names(technician=other) == {("repair", "Juno Falk")}
    assert ("repair", "Juno Falk") not in _names(technician=repair.appliance.technician)


def test_it_stays_with_its_person_when_everything_is_derived_anew(repair, officer):
    obligation_assign(by=officer, obligation=repair, user=officer, assigned_at=NOW)
    Obligation.objects.all().delete()

    call_command("rebuild_assessments", verbosity=0)

    assert ("repair", "Clement Osei") in _names()


def test_given_back_it_is_the_appliances_technicians_again_and_the_history_stays(repair, officer, okafor):
    obligation_assign(by=officer, obligation=repair, user=officer, note="Ring them", assigned_at=NOW)
    obligation_assign(by=officer, obligation=repair, assigned_at=NOW)

    assert ("repair", okafor.full_name) in _names()
    assert [row.to_whom for row in ObligationAssignment.objects.all()] == ["", "Clement Osei"]


def test_who_signs_in_as_a_technician_counts_as_that_technician(repair, officer, okafor, technician_user):
    given = obligation_assign(by=officer, obligation=repair, user=technician_user, assigned_at=NOW)

    assert (given.technician, given.user) == (okafor, None)


def test_nobody_who_has_left_gets_it(repair, admin, officer):
    gone = technician_change(
        by=admin, technician=add_technician(admin, full_name="Juno Falk"), is_active=False
    )

    with pytest.raises(SubmissionRefused, match="still works for the firm"):
        obligation_assign(by=officer, obligation=repair, technician=gone, assigned_at=NOW)


def test_mine_and_nobodys(repair, admin, officer, technician_user):
    over_the_threshold(admin, add_appliance(admin, "Rack B"), "2026-03-03")
    obligation_assign(by=officer, obligation=repair, user=officer, assigned_at=NOW)

    assert _names(holder=BoardHolder.MINE, viewer=officer) == {("repair", "Clement Osei")}
    mine = _names(holder=BoardHolder.MINE, viewer=technician_user)
    assert mine == {("initial_verification_test", "Tamsin Okafor")}
    assert {name for _, name in _names(holder=BoardHolder.NOBODY)} == {None}
    assert _names(holder=BoardHolder.MINE, viewer=admin) == set()


def test_the_officer_gives_it_away_on_its_page(client, repair, officer, okafor):
    client.force_login(officer)
    assert "Give it to somebody" in client.get(f"/obligations/{repair.pk}/").text

    answer = client.post(
        f"/obligations/{repair.pk}/assign/",
        {"person": f"user:{officer.pk}", "note": "I ring them"},
        follow=True,
    )

    assert "Clement Osei has it now." in answer.text
    assert "I ring them" in answer.text
    assert "Give it to somebody else" in answer.text


def test_a_person_who_isnt_offered_is_refused_by_name(client, repair, officer):
    client.force_login(officer)

    answer = client.post(f"/obligations/{repair.pk}/assign/", {"person": "user:999"})

    assert "You gave “user:999”" in answer.text
    assert not ObligationAssignment.objects.exists()


def test_technician_and_office_may_not(client, repair, technician_user, admin):
    for user in (technician_user, admin):
        client.force_login(user)
        assert client.get(f"/obligations/{repair.pk}/assign/").status_code == 403
        assert "Give it to somebody" not in client.get(f"/obligations/{repair.pk}/").text


def test_a_technicians_own_come_first_unless_another_order_is_asked_for(
    client, admin, okafor, technician_user
):
    over_the_threshold(admin, add_appliance(admin, "Old rack"), "2026-02-01")
    over_the_threshold(admin, add_appliance(admin, "Own rack", technician=okafor), "2026-03-02")
    client.force_login(technician_user)

    text = client.get("/board/").text
    by_date = client.get("/board/", {"sort": "due"}).text

    assert text.index("Own rack") < text.index("Old rack")
    assert by_date.index("Old rack") < by_date.index("Own rack")


@pytest.fixture
def two_customers(admin):
    hospital = add_site(admin, add_customer(admin, "Alder Hospital"), "Ward B")
    over_the_threshold(admin, add_appliance(admin, "Chiller 7", site=hospital), "2026-03-02")
    for number in range(13):
        over_the_threshold(admin, add_appliance(admin, f"Rack {number}"), f"2026-03-{number % 9 + 1:02d}")


def test_a_group_that_goes_on_over_the_page_names_all_it_holds(client, officer, two_customers):
    client.force_login(officer)

    first = client.get("/board/", {"group": "customer"}).text
    second = client.get("/board/", {"group": "customer", "page": 2}).text

    assert "Alder Hospital <span" in first
    assert "26 in all" in first
    assert "26 in all" in second
    assert "Alder Hospital <span" not in second


def test_weeks_begin_on_monday_and_are_named_from_today(client, officer, two_customers):
    client.force_login(officer)

    text = client.get("/board/", {"group": "week"}).text

    # Repairs opened on 1 to 9 March are due on 31 March to 8 April 2026, a Tuesday to a Wednesday of the next week.
    assert "2026-03-30 to 2026-04-05" in text
    assert "2026-04-06 to 2026-04-12" in text


@pytest.mark.parametrize("group", ["week", "customer"])
def test_a_grouped_page_takes_two_queries_more_at_most(client, officer, two_customers, group):
    client.force_login(officer)
    client.get("/board/")

    with CaptureQueriesContext(connection) as plain:
        client.get("/board/")
    with CaptureQueriesContext(connection) as grouped:
        client.get("/board/", {"group": group})

    assert len(grouped) <= len(plain) + 2


def test_the_export_holds_every_page_of_what_is_filtered(client, officer, two_customers):
    client.force_login(officer)

    csv = client.get("/board.csv", {"customer": "", "kind": "repair"})
    book = openpyxl.load_workbook(io.BytesIO(client.get("/board.xlsx", {"kind": "repair"}).content))

    lines = csv.content.decode("utf-8-sig").splitlines()
    assert len(lines) == 1 + 14
    assert lines[0].startswith("What is owed,State,Due,Days left,Appliance")
    assert len(list(book["Board"].rows)) == 1 + 14
    assert ("Shows", "What is owed: Leak repair") in [
        (first.value, second.value) for first, second, *_ in book["About"].iter_rows(min_row=3)
    ]


def test_an_empty_board_can_be_exported(client, officer):
    client.force_login(officer)

    assert client.get("/board.csv").status_code == client.get("/board.xlsx").status_code == 200
