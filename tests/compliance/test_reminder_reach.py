"""The pages say whom reminders reach, and warn where they reach nobody."""

import pytest
from django.urls import reverse

from compliance.models import Obligation
from compliance.selectors.obligation_reminders import obligation_reminders
from compliance.selectors.reminder_reach import obligation_reach, reminder_reach
from compliance.services.assignments import obligation_assign
from compliance.services.reminders import reminders_raise
from jobs.models import Technician
from portal.accounts.models import User
from tests.compliance.firm import (
    AGREED,
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

STATUS = "/status/"


@pytest.fixture
def case(admin, technician_user, time_machine):
    """A repair and its test, of an appliance whose technician signs in."""
    time_machine.move_to(noon(day("2026-03-16")))
    appliance = add_appliance(admin, technician=add_technician(admin, technician_user))
    over_the_threshold(admin, appliance, "2026-03-02")
    return appliance


@pytest.fixture
def keeper(db):
    """Who set the portal up, and holds no role that is reminded."""
    return User.objects.create_superuser("keeper@example.org", "correct horse battery", full_name="Jo Amadi")


def _repair(case):
    return Obligation.objects.get(appliance=case, kind="repair")


def _page(client, user, case):
    client.force_login(user)
    return client.get(reverse("obligation-detail", args=[_repair(case).pk])).text


def test_the_obligation_names_who_is_reminded(client, case, officer):
    text = _page(client, officer, case)

    assert 'Tamsin Okafor, <span class="quiet">looks after the appliance; in the portal, by e-mail' in text
    assert 'Clement Osei, <span class="quiet">compliance officer; in the portal, by e-mail' in text
    assert "Nobody is reminded" not in text


def test_a_contact_of_the_customer_is_told_from_the_firms_people(client, admin, officer):
    customer = add_customer(admin, contact_name="Ida Larkspur", email="ida@larkspur.example", **AGREED)
    appliance = add_appliance(admin, site=add_site(admin, customer))
    over_the_threshold(admin, appliance, "2026-03-02")

    text = _page(client, officer, appliance)
    assert 'Ida Larkspur, <span class="quiet">for the customer; by e-mail, not from 20:00 to 07:00' in text


@pytest.mark.parametrize(
    ("change", "gap"),
    [
        ({"user": None}, "Tamsin Okafor has no sign-in."),
        ({"is_active": False}, "Tamsin Okafor no longer works for the firm."),
    ],
)
def test_the_obligation_says_why_its_technician_is_not_reminded(client, case, officer, change, gap):
    Technician.objects.update(**change)

    assert gap in _page(client, officer, case)
    assert [row.person.user for row in obligation_reach(_repair(case)).people] == [officer]


def test_a_closed_sign_in_is_said_too(case, officer, technician_user):
    technician_user.is_active = False
    technician_user.save()

    assert obligation_reach(_repair(case)).gap == "Tamsin Okafor has a sign-in that is closed."


def test_the_obligation_warns_when_nobody_is_reminded(client, case, keeper):
    Technician.objects.update(user=None)

    assert obligation_reach(_repair(case)).people == []
    assert "Nobody is reminded of this." in _page(client, keeper, case)


def test_what_is_met_has_nobody_to_be_reminded(client, admin, case, officer):
    file(admin, case, "2026-03-10", repaired=[leak(case)])

    assert obligation_reach(_repair(case)) is None
    assert "Reminders</h2>" not in _page(client, officer, case)


def test_the_obligation_tells_the_next_days_and_what_was_raised(client, case, officer):
    reminders_raise(now=noon(day("2026-03-18")))

    reminders = obligation_reminders(_repair(case), day("2026-03-18"), officer)
    ahead = [(row.on.isoformat(), row.milestone.name) for row in reminders.ahead]
    assert ahead == [
        ("2026-03-25", "7 days before"),
        ("2026-03-29", "3 days before"),
        ("2026-03-31", "1 day before"),
        ("2026-04-01", "on the day"),
    ]
    assert [(raised.milestone, len(raised.rows)) for raised in reminders.raised] == [("14 days before", 4)]
    text = _page(client, officer, case)
    for words in ("2026-03-29", "14, 7, 3 and 1 days before", "Tamsin Okafor, e-mail: waiting"):
        assert words in text


def test_what_is_met_still_tells_what_was_raised(client, admin, case, officer):
    reminders_raise(now=noon(day("2026-03-18")))
    file(admin, case, "2026-03-18", repaired=[leak(case)])

    reminders = obligation_reminders(_repair(case), day("2026-03-19"), officer)
    assert (reminders.ahead, len(reminders.raised)) == ([], 1)
    assert "Tamsin Okafor, e-mail: withdrawn" in _page(client, officer, case)


def test_the_keeping_of_records_has_no_reminders(admin, chiller):
    file(admin, chiller, "2026-03-02", added=[("1", None)])

    retention = chiller.obligations.get(kind="record_retention")
    assert obligation_reminders(retention, day("2026-03-18"), admin) is None


def test_who_was_given_it_is_named_and_a_gap_is_theirs(client, admin, case, officer):
    falk = add_technician(admin, full_name="Juno Falk")
    obligation_assign(
        by=officer, obligation=_repair(case), technician=falk, assigned_at=noon(day("2026-03-16"))
    )

    reach = obligation_reach(_repair(case))
    assert reach.gap == "Juno Falk has no sign-in."
    assert [row.person.name for row in reach.people] == ["Tamsin Okafor", "Clement Osei"]
    assert [(row.technician, row.pending_count) for row in reminder_reach().unreached] == [(falk, 1)]


def test_given_to_the_office_it_has_no_gap(admin, case, officer):
    Technician.objects.update(user=None)
    obligation_assign(by=officer, obligation=_repair(case), user=admin, assigned_at=noon(day("2026-03-16")))

    reach = obligation_reach(_repair(case))
    assert reach.gap == ""
    assert [(row.person.user, row.person.role) for row in reach.people] == [
        (admin, "has it"),
        (officer, "compliance officer"),
    ]


def test_the_status_page_names_technicians_whom_no_reminder_reaches(client, case, officer):
    Technician.objects.update(user=None)
    client.force_login(officer)

    text = client.get(STATUS).text

    assert "Has no sign-in, so is not reminded of 2 pending obligations" in text
    assert "Nobody is reminded" not in text


def test_the_status_page_warns_when_nobody_is_reminded(client, keeper, case):
    Technician.objects.update(user=None)
    client.force_login(keeper)

    assert reminder_reach().nobody_count == 2
    assert "Nobody is reminded of 2 pending obligations." in client.get(STATUS).text


def test_the_status_page_warns_when_no_officer_is_there_to_be_reminded(client, keeper, case):
    client.force_login(keeper)

    text = client.get(STATUS).text

    assert (reminder_reach().nobody_count, reminder_reach().unreached) == (0, [])
    assert "No compliance officer has an open sign-in." in text


def test_a_customer_who_is_reminded_counts(admin):
    customer = add_customer(admin, email="ida@larkspur.example", **AGREED)
    over_the_threshold(admin, add_appliance(admin, site=add_site(admin, customer)), "2026-03-02")

    assert reminder_reach().nobody_count == 0
