"""Who knows of a reminder says so; when nobody of the firm does for too long, the officers are told, once."""

import datetime
import re
import zoneinfo

import pytest
import time_machine as machine
from django.core import signing
from django.test import Client
from django.urls import reverse

from compliance.models import Obligation, Reminder, ReminderAcknowledgement, ReminderDigest
from compliance.selectors.board import BoardFilter, board
from compliance.selectors.reminders import inbox
from compliance.services.reminder_plans import PlanEntry, reminder_plan_decide
from compliance.services.reminder_preferences import reminder_preference_choose
from compliance.services.reminders import digest_claim, digest_deliver, reminder_acknowledge, reminders_raise
from compliance.services.reminders.tokens import SALT, digest_link, reminder_link
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

CONTACT = "ida@larkspur.example"
CHICAGO = zoneinfo.ZoneInfo("America/Chicago")


@pytest.fixture
def case(admin, technician_user, officer):
    """Due on 1 April 2026; the first reminder is out since 18 March. The portal's own plan escalates after 3 days."""
    customer = add_customer(admin, contact_name="Ida Larkspur", email=CONTACT, **AGREED)
    appliance = add_appliance(
        admin, site=add_site(admin, customer), technician=add_technician(admin, technician_user)
    )
    over_the_threshold(admin, appliance, "2026-03-02")
    reminders_raise(now=noon(day("2026-03-18")))
    Reminder.objects.filter(channel="email").update(state="sent", sent_at=noon(day("2026-03-18")))
    return appliance


def _repair():
    return Obligation.objects.get(kind="repair")


def _own(whose, channel="portal", **wanted):
    rows = Reminder.objects.filter(
        owed_key__contains=":repair:", channel=channel, recipient_email=getattr(whose, "email", whose)
    )
    return rows.filter(**wanted).latest("raised_at")


def _escalations(**wanted):
    return Reminder.objects.filter(is_escalation=True, owed_key__contains=":repair:", **wanted)


def _acknowledge(whose, on, **fields):
    return reminder_acknowledge(reminder=_own(whose), way="portal", acknowledged_at=noon(day(on)), **fields)


def _raise_daily(first, last):
    on = day(first)
    while on <= day(last):
        reminders_raise(now=noon(on))
        on += datetime.timedelta(days=1)


def test_the_officers_are_told_when_nobody_has_acknowledged_for_as_long_as_the_plan_says(case, officer):
    reminders_raise(now=noon(day("2026-03-20")))
    assert not _escalations().exists()

    reminders_raise(now=noon(day("2026-03-21")))

    rows = _escalations()
    assert set(rows.values_list("channel", "recipient_email")) == {
        ("email", officer.email),
        ("portal", officer.email),
    }
    assert {row.milestone for row in rows} == {"unacknowledged, 14 days before"}
    row = rows.get(channel="email")
    assert (
        row.subject
        == "Not acknowledged: Leak repair due in 11 days: Chiller 1, North store, Larkspur Grocers"
    )
    for text in (row.body, row.body_html):
        assert "Nobody has acknowledged the reminder of 2026-03-18" in text
        assert "Clement Osei, Ida Larkspur, Tamsin Okafor" in text


def test_they_are_told_once_for_as_long_as_it_waits(case):
    _raise_daily("2026-03-19", "2026-04-20")

    assert _escalations(channel="portal").count() == 1


@pytest.mark.parametrize("who", ["technician", "officer"])
def test_one_of_the_firm_is_enough(case, technician_user, officer, who):
    _acknowledge({"technician": technician_user, "officer": officer}[who], "2026-03-20")

    reminders_raise(now=noon(day("2026-03-24")))

    assert not _escalations().exists()


def test_the_customers_contact_is_not(case):
    link = _own(CONTACT, channel="email")
    reminder_acknowledge(reminder=link, way="link", acknowledged_at=noon(day("2026-03-19")))

    reminders_raise(now=noon(day("2026-03-21")))

    assert _escalations().exists()


def test_a_later_reminder_waits_for_its_own_acknowledgement(case, technician_user):
    _acknowledge(technician_user, "2026-03-19")
    _raise_daily("2026-03-20", "2026-03-28")

    # The next one is out since 25 March.
    assert {row.milestone for row in _escalations()} == {"unacknowledged, 7 days before"}
    assert set(_escalations().values_list("raised_at", flat=True)) == {noon(day("2026-03-28"))}


def test_acknowledging_withdraws_what_the_officers_havent_noticed(case, technician_user, officer):
    reminders_raise(now=noon(day("2026-03-21")))
    _acknowledge(technician_user, "2026-03-21")

    assert set(_escalations().values_list("state", flat=True)) == {"dropped"}
    assert len(inbox(officer)) == 3  # two reminders, and the escalation of the other obligation


def test_an_officer_who_acknowledges_the_escalation_ends_it(case, officer):
    reminders_raise(now=noon(day("2026-03-21")))
    escalation = _escalations(channel="portal").get()
    reminder_acknowledge(reminder=escalation, way="portal", acknowledged_at=noon(day("2026-03-21")))

    reminders_raise(now=noon(day("2026-03-24")))

    assert _escalations(channel="portal").count() == 1
    assert not board(BoardFilter(kind="repair"), noon(day("2026-03-24"))).get().is_escalated


def test_what_is_settled_is_not_escalated(admin, case):
    file(admin, case, "2026-03-20", repaired=[leak(case)])

    reminders_raise(now=noon(day("2026-03-22")))

    assert not _escalations().exists()


def test_a_plan_may_say_never(case, officer):
    _plan(officer, escalate_after_days=None)
    _raise_daily("2026-03-19", "2026-03-31")

    assert not _escalations().exists()


def test_a_plan_may_ask_for_it_sooner(case, officer):
    _plan(officer, escalate_after_days=1)
    reminders_raise(now=noon(day("2026-03-19")))

    assert _escalations().count() == 2


def _plan(officer, **figures):
    entry = PlanEntry(days_before=[14, 7, 0], daily_overdue_days=7, overdue_every_days=7, **figures)
    with machine.travel(noon(day("2026-03-18"))):
        reminder_plan_decide(
            by=officer,
            kinds=["repair"],
            effective_from=day("2026-03-18"),
            entry=entry,
            reason="Trial",
            decided_at=noon(day("2026-03-18")),
        )


def test_days_count_at_the_site(case):
    # 18 March at noon; three calendar days later begins at midnight in Chicago, which is 05:00 UTC in summer time.
    assert not _raised_at(datetime.datetime(2026, 3, 21, 4, 59, tzinfo=datetime.UTC))
    assert _raised_at(datetime.datetime(2026, 3, 21, 5, 1, tzinfo=datetime.UTC))


def _raised_at(now):
    reminders_raise(now=now)
    return _escalations().exists()


def test_a_clock_that_is_put_back_escalates_nothing_too_soon(case):
    for on in ("2026-03-10", "2026-03-17", "2026-03-20"):
        reminders_raise(now=noon(day(on)))

    assert not _escalations().exists()
    reminders_raise(now=noon(day("2026-03-21")))
    assert _escalations().exists()


def test_acknowledging_by_a_clock_that_was_put_back_counts_for_that_reminder(case, technician_user):
    _acknowledge(technician_user, "2026-03-17")

    reminders_raise(now=noon(day("2026-03-24")))

    assert not _escalations().exists()
    row = inbox(technician_user).get(owed_key__contains=":repair:")
    assert row.acknowledged_at == noon(day("2026-03-17"))


def test_the_first_word_counts_and_reads_it_too(case, technician_user):
    _acknowledge(technician_user, "2026-03-19", note=" Parts are ordered ")
    _acknowledge(technician_user, "2026-03-20", note="Again")

    word = ReminderAcknowledgement.objects.get()
    assert (word.note, word.user, word.acknowledged_at) == (
        "Parts are ordered",
        technician_user,
        noon(day("2026-03-19")),
    )
    assert _own(technician_user).read_at == noon(day("2026-03-19"))


# --- Pages -----------------------------------------------------------------------------------


@pytest.fixture
def today(time_machine):
    time_machine.move_to(noon(day("2026-03-21")))


def test_the_inbox_acknowledges_and_puts_it_last(client, case, technician_user, today):
    client.force_login(technician_user)
    row = _own(technician_user)

    text = client.post(reverse("reminder-acknowledge", args=[row.pk]), follow=True).text

    assert "Acknowledged." in text
    assert [item.pk for item in inbox(technician_user)][-1] == row.pk
    assert text.count(">Acknowledge</button>") == 1


def test_nobody_acknowledges_for_anybody_else(client, case, technician_user, officer, today):
    client.force_login(technician_user)

    response = client.post(reverse("reminder-acknowledge", args=[_own(officer).pk]))

    assert response.status_code == 404
    assert not ReminderAcknowledgement.objects.exists()


def test_the_case_takes_a_word_with_it_and_shows_it_to_all(client, case, technician_user, officer, today):
    page = reverse("obligation-detail", args=[_repair().pk])
    client.force_login(technician_user)
    assert "You were reminded on" in client.get(page).text

    address = reverse("reminder-acknowledge", args=[_own(technician_user).pk])
    response = client.post(address, {"note": "Compressor is on order"}, follow=True)

    assert response.redirect_chain[-1][0] == page
    assert "You were reminded on" not in response.text
    client.force_login(officer)
    text = client.get(page).text
    for words in ("“Compressor is on order”", "in the portal, 14 days before", "Tamsin Okafor, e-mail"):
        assert words in text


def test_too_long_a_word_is_refused(client, case, technician_user, today):
    client.force_login(technician_user)
    address = reverse("reminder-acknowledge", args=[_own(technician_user).pk])

    text = client.post(address, {"note": "x" * 301}, follow=True).text

    assert "Expected at most 300 characters." in text
    assert not ReminderAcknowledgement.objects.exists()


def test_board_and_case_show_that_nobody_has_acknowledged(client, case, officer, technician_user, today):
    client.force_login(officer)
    page = reverse("obligation-detail", args=[_repair().pk])
    assert "Nobody acknowledged" not in client.get("/board/").text

    reminders_raise(now=noon(day("2026-03-21")))

    assert client.get("/board/").text.count("Nobody acknowledged") == 2
    text = client.get(page).text
    assert "Nobody has acknowledged the reminder of" in text
    assert 'The compliance officers were told on <span class="date">2026-03-21</span>' in text
    _acknowledge(technician_user, "2026-03-21")
    assert client.get("/board/").text.count("Nobody acknowledged") == 1
    assert "Nobody has acknowledged" not in client.get(page).text


def _link_in(row):
    (found,) = set(re.findall(r"/reminders/acknowledge/[^/\s\"]+/", row.body))
    assert found in row.body_html
    return found


def test_the_link_of_an_e_mail_acts_when_its_button_is_pressed_alone(case, technician_user, today):
    link = _link_in(_own(technician_user, channel="email"))
    stranger = Client(enforce_csrf_checks=True)

    page = stranger.get(link)
    stranger.head(link)

    assert page.status_code == 200
    assert "Leak repair due in 14 days" in page.text
    assert "To Tamsin Okafor" in page.text
    assert (page["X-Robots-Tag"], page["Referrer-Policy"]) == ("noindex", "no-referrer")
    assert "no-store" in page["Cache-Control"]
    assert not ReminderAcknowledgement.objects.exists()

    token = re.search(r'name="csrfmiddlewaretoken" value="(\w+)"', page.text)[1]
    after = stranger.post(link, {"note": "On it", "csrfmiddlewaretoken": token}, follow=True)

    assert "You can close this page." in after.text
    word = ReminderAcknowledgement.objects.get()
    assert (word.user, word.way, word.note) == (technician_user, "link", "On it")


def test_a_contact_acknowledges_by_the_link_and_the_case_tells_it(client, case, officer, today):
    client.post(_link_in(_own(CONTACT, channel="email")))

    word = ReminderAcknowledgement.objects.get()
    assert (word.user, word.recipient_name) == (None, "Ida Larkspur")
    client.force_login(officer)
    assert (
        "Ida Larkspur (for the customer)"
        in client.get(reverse("obligation-detail", args=[_repair().pk])).text
    )


def test_a_link_that_was_tampered_with_or_is_too_old_leads_nowhere(client, case, technician_user, today):
    link = _link_in(_own(technician_user, channel="email"))
    other = signing.dumps(
        {"reminder": ["1:x:repair:2026-03-02:1", "2026-04-01", "on the day", "a@b.example"]}
    )

    assert client.get(f"{link[:-4]}abc/").status_code == 404
    assert client.get(reverse("reminder-acknowledge-link", args=[other])).status_code == 404
    # Long after any day on which this test is run: the address was signed by the machine's clock.
    with machine.travel(noon(day("2126-09-01"))):
        assert client.get(link).status_code == 404
    Reminder.objects.all().delete()
    assert client.get(link).status_code == 404
    assert signing.loads(link.split("/")[-2], salt=SALT)


def test_the_link_to_what_is_settled_says_so(client, admin, case, technician_user, today):
    link = _link_in(_own(technician_user, channel="email"))
    file(admin, case, "2026-03-20", repaired=[leak(case)])

    text = client.get(link).text

    assert "Settled, or due on another date by now" in text
    assert "I know of it" not in text


def test_the_link_of_a_digest_acknowledges_all_of_it(client, admin, chiller, officer, settings, tmp_path):
    settings.EMAIL_BACKEND, settings.MAILBOX_DIR = (
        "portal.web.mailbox.MailboxFolderBackend",
        tmp_path / "mail",
    )
    over_the_threshold(admin, chiller, "2026-03-02")
    reminder_preference_choose(by=officer, rhythm="digest", digest_hour=7, time_zone="America/Chicago")
    seven = datetime.datetime(2026, 3, 18, 7, tzinfo=CHICAGO)
    reminders_raise(now=seven)
    digest_deliver(digest=digest_claim(now=seven), sent_at=seven)
    with machine.travel(noon(day("2026-03-18"))):
        link = digest_link(ReminderDigest.objects.get())
        assert "2 reminders</h1>" in client.get(link).text

        client.post(link)

    words = ReminderAcknowledgement.objects.all()
    assert {(word.user, word.way) for word in words} == {(officer, "link")}
    assert len(words) == 2


def test_the_portals_own_text_has_no_link_that_signs_for_somebody(case, technician_user):
    row = _own(technician_user)

    assert "/reminders/acknowledge/" not in row.body + row.body_html
    assert len(reminder_link(row)) < 250
