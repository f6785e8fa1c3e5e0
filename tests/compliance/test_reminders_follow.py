"""Reminders follow those responsible at present, and the customer's consent; nobody else gets or keeps one."""

import pytest

from compliance.models import Obligation, Reminder
from compliance.selectors.reminders import compliance_officers, recipients, still_addressed
from compliance.services.assignments import obligation_assign
from compliance.services.reminders import reminder_claim, reminders_raise
from jobs.services.appliances import appliance_change
from jobs.services.customers import customer_change
from jobs.services.technicians import technician_change
from portal.accounts.models import User
from tests.compliance.firm import (
    AGREED,
    add_appliance,
    add_customer,
    add_site,
    add_technician,
    day,
    noon,
    over_the_threshold,
)

pytestmark = pytest.mark.django_db

NOW, LATER = noon(day("2026-03-18")), noon(day("2026-03-19"))
CONTACT, OTHER = "ida@larkspur.example", "bram.castellan@example.org"


@pytest.fixture
def case(admin, technician_user, officer):
    """A repair and its test, of which the technician, the officer and the customer's contact are reminded."""
    customer = add_customer(admin, email=CONTACT, **AGREED)
    technician = add_technician(admin, technician_user)
    appliance = add_appliance(admin, site=add_site(admin, customer), technician=technician)
    over_the_threshold(admin, appliance, "2026-03-02")
    reminders_raise(now=NOW)
    return appliance


def _nothing_changes(case, by):
    pass


def _someone_else_is_responsible(case, by):
    user = User.objects.create_user(OTHER, "correct horse battery", full_name="Bram Castellan")
    appliance_change(by=by, appliance=case, technician=add_technician(by, user, user.full_name))


def _the_technician_leaves(case, by):
    technician_change(by=by, technician=case.technician, is_active=False)


def _the_technician_moves_to_another_address(case, by):
    case.technician.user.email = "okafor@example.org"
    case.technician.user.save()


def _the_officer_gives_up_the_role(case, by):
    for officer in compliance_officers():
        officer.groups.clear()


def _the_customer_no_longer_agrees(case, by):
    customer_change(by=by, customer=case.site.customer, is_reminded=False)


def _the_customer_names_another_address(case, by):
    customer_change(by=by, customer=case.site.customer, email="accounts@larkspur.example")


def _it_is_given_to_somebody_else(case, by):
    """Whoever looks after the appliance is reminded still."""
    user = User.objects.create_user(OTHER, "correct horse battery", full_name="Bram Castellan")
    technician = add_technician(by, user, user.full_name)
    for obligation in case.obligations.all():
        obligation_assign(by=by, obligation=obligation, technician=technician, assigned_at=NOW)


CHANGES = [
    (_someone_else_is_responsible, "technician"),
    (_the_technician_leaves, "technician"),
    (_the_technician_moves_to_another_address, "technician"),
    (_the_officer_gives_up_the_role, "officer"),
    (_the_customer_no_longer_agrees, "contact"),
    (_the_customer_names_another_address, "contact"),
]


@pytest.fixture
def addresses(technician_user, officer):
    return {"technician": technician_user.email, "officer": officer.email, "contact": CONTACT}


def _states(address):
    return set(Reminder.objects.filter(recipient_email=address).values_list("state", flat=True))


@pytest.mark.parametrize(("change", "whose"), CHANGES)
def test_what_nobody_got_is_dropped_when_somebody_else_is_to_be_reminded(
    case, admin, addresses, change, whose
):
    change(case, admin)
    reminders_raise(now=LATER)

    assert _states(addresses[whose]) == {"dropped"}
    others = addresses.keys() - {whose}
    assert all("dropped" not in _states(addresses[name]) for name in others)


@pytest.mark.parametrize(("change", "whose"), CHANGES)
def test_an_e_mail_that_waits_is_not_sent_after_the_change(case, admin, addresses, change, whose):
    change(case, admin)
    claimed = []
    while reminder := reminder_claim(now=LATER):
        claimed.append(reminder.recipient_email)

    assert addresses[whose] not in claimed
    assert set(claimed) == set(addresses.values()) - {addresses[whose]}


@pytest.mark.parametrize(
    ("change", "whose"),
    [(_nothing_changes, ""), (_it_is_given_to_somebody_else, ""), *CHANGES],
)
def test_the_database_and_the_list_of_recipients_agree(case, admin, change, whose):
    change(case, admin)
    reminders_raise(now=NOW)
    still = Reminder.objects.filter(still_addressed()).values_list("recipient_email", flat=True)

    obligation = Obligation.objects.filter(kind="repair").get()
    named = {person.email.lower() for person in recipients(obligation, compliance_officers())}
    assert set(still) == named


@pytest.mark.parametrize("is_technician", [True, False])
def test_whoever_was_given_it_is_reminded_until_it_is_taken_back(case, admin, officer, is_technician):
    obligation = Obligation.objects.get(kind="repair")
    whose = {"user": admin}
    if is_technician:
        whose = {"technician": add_technician(admin, admin, admin.full_name)}
    obligation_assign(by=officer, obligation=obligation, assigned_at=NOW, **whose)
    reminders_raise(now=NOW)

    own = Reminder.objects.filter(recipient_email=admin.email)
    assert set(own.values_list("channel", "state")) == {("email", "waiting"), ("portal", "sent")}
    # Only a technician files what settles it.
    assert ("/events/add/" in own[0].body) is is_technician
    obligation_assign(by=officer, obligation=obligation, assigned_at=LATER)
    reminders_raise(now=LATER)
    assert _states(admin.email) == {"dropped"}


def test_what_was_sent_or_read_stays_on_record(case, admin, technician_user):
    own = Reminder.objects.filter(user=technician_user)
    own.filter(channel="email").update(state="sent")
    own.filter(channel="portal").update(read_at=NOW)
    _someone_else_is_responsible(case, admin)
    reminders_raise(now=LATER)

    assert _states(technician_user.email) == {"sent"}


def test_the_new_technician_is_reminded_in_place_of_the_former(case, admin):
    _someone_else_is_responsible(case, admin)
    reminders_raise(now=LATER)

    new = Reminder.objects.filter(recipient_email=OTHER)
    assert set(new.values_list("channel", "state")) == {("email", "waiting"), ("portal", "sent")}


def test_a_customer_who_agrees_again_is_reminded_again(case, admin):
    _the_customer_no_longer_agrees(case, admin)
    reminders_raise(now=LATER)
    customer_change(by=admin, customer=case.site.customer, **AGREED)
    reminders_raise(now=LATER)

    assert _states(CONTACT) == {"waiting"}
