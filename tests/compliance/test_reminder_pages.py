"""The inbox shows a person their own reminders; the log shows the officer every e-mail."""

import pytest
from django.urls import reverse

from compliance.models import Reminder
from compliance.selectors.reminders import inbox, unread_reminder_count
from compliance.services.reminders import reminders_raise
from jobs.services.appliances import appliance_change
from tests.compliance.firm import add_appliance, add_technician, day, file, leak, noon, over_the_threshold

pytestmark = pytest.mark.django_db

NOW = noon(day("2026-03-18"))
INBOX, LOG = "/reminders/", "/reminders/log/"


@pytest.fixture
def case(admin, technician_user, officer):
    technician = add_technician(admin, technician_user)
    appliance = add_appliance(admin, technician=technician)
    over_the_threshold(admin, appliance, "2026-03-02")
    reminders_raise(now=NOW)
    return appliance


def _own(user):
    return Reminder.objects.filter(user=user, channel="portal").order_by("pk")


def test_everybody_sees_their_own(client, case, technician_user, officer, admin):
    for user, count in ((technician_user, 2), (officer, 2), (admin, 0)):
        client.force_login(user)
        text = client.get(INBOX).text

        assert text.count("What to do, and why") == count
        assert (f"{count} unread" if count else "No reminders") in text


def test_a_stranger_sees_none(client, case, stranger):
    client.force_login(stranger)

    assert client.get(INBOX).status_code == 403
    assert client.get(LOG).status_code == 403


def test_marking_one_as_read_takes_it_off_the_count(client, case, officer, time_machine):
    time_machine.move_to(NOW, tick=False)
    client.force_login(officer)

    client.post(reverse("reminder-read", args=[_own(officer)[0].pk]))
    time_machine.shift(60)
    client.post(reverse("reminder-read", args=[_own(officer)[0].pk]))

    assert unread_reminder_count(officer) == 1
    assert _own(officer)[0].read_at == NOW


def test_nobody_marks_anybody_elses(client, case, officer, technician_user):
    client.force_login(technician_user)

    response = client.post(reverse("reminder-read", args=[_own(officer)[0].pk]))

    assert response.status_code == 404
    assert unread_reminder_count(officer) == 2


def test_all_can_be_marked_at_once(client, case, officer, technician_user):
    client.force_login(officer)

    client.post(reverse("reminder-read-all"))

    assert (unread_reminder_count(officer), unread_reminder_count(technician_user)) == (0, 2)


def test_looking_marks_nothing(client, case, officer):
    client.force_login(officer)
    client.get(INBOX)

    assert client.get(reverse("reminder-read", args=[_own(officer)[0].pk])).status_code == 405
    assert unread_reminder_count(officer) == 2


@pytest.mark.parametrize("read_at", [None, NOW])
def test_what_is_settled_leaves_the_inbox_read_or_not(client, admin, case, officer, read_at):
    _own(officer).update(read_at=read_at)
    file(admin, case, "2026-03-19", repaired=[leak(case)])

    assert [row.owed_key.split(":")[2] for row in inbox(officer)] == ["initial_verification_test"]
    client.force_login(officer)
    assert client.get(INBOX).text.count("What to do, and why") == 1


def test_what_was_read_leaves_the_inbox_when_its_date_has_moved(case, officer):
    _own(officer).update(read_at=NOW)
    case.obligations.filter(kind="repair").update(due_on=day("2026-05-01"))

    assert len(inbox(officer)) == 1


def test_an_obligation_that_is_gone_takes_its_lines_along(case, officer):
    _own(officer).update(read_at=NOW)
    case.obligations.all().delete()

    assert list(inbox(officer)) == []


def test_what_is_somebody_elses_by_now_leaves_the_inbox_at_once(admin, case, technician_user, officer):
    appliance_change(by=admin, appliance=case, technician=None)

    assert list(inbox(technician_user)) == []
    assert len(inbox(officer)) == 2


def test_the_log_shows_every_e_mail_and_what_became_of_it(client, case, officer, technician_user):
    row = Reminder.objects.filter(channel="email", user=technician_user).first()
    Reminder.objects.filter(pk=row.pk).update(
        state="failed", attempts=8, last_error="SMTPDataError: mailbox full"
    )
    client.force_login(officer)

    text = client.get(LOG).text

    assert "4 e-mails" in text
    assert "SMTPDataError: mailbox full" in text
    assert "8 attempts" in text
    assert client.get(LOG, {"state": "failed"}).text.count("Try again") == 1
    assert "Nothing matches" in client.get(LOG, {"state": "sent"}).text
    assert "2 e-mails" in client.get(LOG, {"q": "okafor"}).text


def test_the_log_tells_what_was_withdrawn(client, admin, case, officer):
    file(admin, case, "2026-03-19", repaired=[leak(case)])
    client.force_login(officer)

    text = client.get(LOG, {"state": "dropped"}).text

    assert "2 e-mails" in text
    assert text.count("Withdrawn") == 3  # the choice, and each of the two


def test_the_log_is_the_officers(client, case, technician_user, admin):
    for user in (technician_user, admin):
        client.force_login(user)

        assert client.get(LOG).status_code == 403


def test_the_officer_can_have_one_tried_again(client, case, officer, technician_user):
    row = Reminder.objects.filter(channel="email", user=technician_user).first()
    Reminder.objects.filter(pk=row.pk).update(state="failed", attempts=8)
    url = reverse("reminder-retry", args=[row.pk])

    client.force_login(technician_user)
    assert client.post(url).status_code == 403
    client.force_login(officer)
    assert f"Waiting to be sent to {technician_user.email}" in client.post(url, follow=True).text

    row.refresh_from_db()
    assert (row.state, row.attempts) == ("waiting", 0)


def test_one_that_was_sent_is_not_sent_again(client, case, officer):
    row = Reminder.objects.filter(channel="email").first()
    Reminder.objects.filter(pk=row.pk).update(state="sent")
    client.force_login(officer)

    client.post(reverse("reminder-retry", args=[row.pk]))

    row.refresh_from_db()
    assert row.state == "sent"


@pytest.mark.parametrize(("url", "count"), [(INBOX, 8), (LOG, 7)])
def test_the_pages_take_a_fixed_number_of_queries(
    client, case, officer, django_assert_num_queries, url, count
):
    client.force_login(officer)
    client.get(url)

    with django_assert_num_queries(count):
        client.get(url)
