"""E-mails are claimed before they are sent; failures are tried again, what is settled is dropped."""

import datetime
import email
import email.policy

import pytest

from compliance.models import Reminder, TaskRun
from compliance.services.outbox import ATTEMPTS_MAX, CLAIM_LASTS, ENDED_MIDWAY
from compliance.services.reminders import reminder_claim, reminder_deliver, reminder_retry, reminders_raise
from compliance.tasks import raise_reminders, send_reminders
from tests.compliance.firm import day, file, leak, noon, over_the_threshold
from tests.compliance.mail_server import UNDECIDABLE, Fault, MailServer

pytestmark = pytest.mark.django_db

NOW = noon(day("2026-03-18"))
MINUTE = datetime.timedelta(minutes=1)


@pytest.fixture
def broken_mail(settings):
    """Mail goes to a port where nobody listens."""
    settings.EMAIL_BACKEND = "django.core.mail.backends.smtp.EmailBackend"
    settings.EMAIL_HOST, settings.EMAIL_PORT, settings.EMAIL_TIMEOUT = "127.0.0.1", 1, 2


@pytest.fixture
def waiting(admin, officer, chiller):
    """One e-mail for the officer about the repair, and one about its initial test."""
    over_the_threshold(admin, chiller, "2026-03-02")
    reminders_raise(now=NOW)
    return Reminder.objects.filter(channel="email").order_by("pk")


def _use(settings, server):
    settings.EMAIL_BACKEND = "portal.web.smtp.HandoverBackend"
    settings.EMAIL_HOST, settings.EMAIL_PORT = server.server_address
    settings.EMAIL_TIMEOUT = 5


def _messages(mailbox):
    paths = sorted(mailbox.glob("*.eml")) if mailbox.exists() else []
    return [email.message_from_bytes(path.read_bytes(), policy=email.policy.default) for path in paths]


def _send_all(now=NOW):
    while reminder := reminder_claim(now=now):
        reminder_deliver(reminder=reminder, sent_at=now)


def test_what_waits_is_sent_once(waiting, mailbox, officer):
    _send_all()
    _send_all(NOW + datetime.timedelta(days=1))

    assert [message["To"] for message in _messages(mailbox)] == [officer.email, officer.email]
    assert {(row.state, row.attempts, row.sent_at) for row in waiting} == {("sent", 1, NOW)}


def test_nothing_is_sent_to_someone_whose_sign_in_was_closed(waiting, mailbox, officer):
    officer.is_active = False
    officer.save()
    _send_all()

    assert _messages(mailbox) == []
    assert {row.state for row in waiting} == {"dropped"}


def test_a_message_has_plain_text_and_html_and_says_that_it_is_automatic(waiting, mailbox):
    _send_all()

    message = _messages(mailbox)[0]
    assert [part.get_content_type() for part in message.walk()][1:] == ["text/plain", "text/html"]
    assert message["Auto-Submitted"] == "auto-generated"
    assert message["Subject"] == waiting[0].subject
    assert message.get_body(("plain",)).get_content().strip() == waiting[0].body.strip()


def test_no_two_reminders_share_a_message_id(waiting, mailbox):
    _send_all()

    ids = [message["Message-ID"] for message in _messages(mailbox)]
    assert len(set(ids)) == 2
    assert all(one.startswith("<reminder-") and one.endswith("@127.0.0.1>") for one in ids)


def test_a_claimed_reminder_is_nobody_elses_until_the_claim_grows_old(waiting, mailbox):
    first, second = reminder_claim(now=NOW), reminder_claim(now=NOW)

    assert {first.pk, second.pk} == {row.pk for row in waiting}
    assert reminder_claim(now=NOW + CLAIM_LASTS - MINUTE) is None
    assert reminder_claim(now=NOW + CLAIM_LASTS).pk == first.pk


def test_one_that_was_sent_but_not_noted_goes_again_under_the_same_message_id(waiting, mailbox):
    lost = reminder_claim(now=NOW)
    reminder_deliver(reminder=lost, sent_at=NOW)
    # The worker was killed before it could note that.
    Reminder.objects.filter(pk=lost.pk).update(state="sending", sent_at=None)

    again = reminder_claim(now=NOW + CLAIM_LASTS)
    while again.pk != lost.pk:
        again = reminder_claim(now=NOW + CLAIM_LASTS)
    reminder_deliver(reminder=again, sent_at=NOW + CLAIM_LASTS)

    first, second = _messages(mailbox)
    assert first["Message-ID"] == second["Message-ID"]
    assert Reminder.objects.get(pk=lost.pk).state == "sent"


def test_a_worker_that_comes_back_late_doesnt_overwrite_the_one_that_took_over(waiting, mailbox):
    slow = reminder_claim(now=NOW)
    Reminder.objects.filter(pk__gt=slow.pk).delete()
    quick = reminder_claim(now=NOW + CLAIM_LASTS)
    reminder_deliver(reminder=quick, sent_at=NOW + CLAIM_LASTS)

    reminder_deliver(reminder=slow, sent_at=NOW + 2 * CLAIM_LASTS)

    assert Reminder.objects.get(pk=slow.pk).sent_at == NOW + CLAIM_LASTS


@pytest.mark.parametrize("fault", Fault)
def test_of_an_attempt_that_failed_it_is_known_whether_it_can_have_arrived(waiting, settings, fault):
    """Between the end of the text and its answer, a break leaves that open (RFC 1047); before and after it doesn't."""
    Reminder.objects.exclude(pk=waiting[0].pk).delete()
    with MailServer(fault=lambda: fault) as server:
        _use(settings, server)
        reminder_deliver(reminder=reminder_claim(now=NOW), sent_at=NOW)

        row = waiting[0]
        assert (row.state == "sent") == (fault == Fault.QUIT)
        assert row.undecided_count == (fault in UNDECIDABLE)
        assert len(server.received) == (fault in {Fault.TAKEN_UNANSWERED, Fault.QUIT})


def test_a_copy_that_may_be_the_second_says_so(waiting, settings, officer, client):
    Reminder.objects.exclude(pk=waiting[0].pk).delete()
    with MailServer(fault=lambda: Fault.TAKEN_UNANSWERED) as server:
        _use(settings, server)
        reminder_deliver(reminder=reminder_claim(now=NOW), sent_at=NOW)
        server.fault = lambda: None
        reminder_deliver(reminder=reminder_claim(now=NOW + MINUTE), sent_at=NOW + MINUTE)

        assert len(server.received) == 2
        assert len(set(server.received)) == 1
    client.force_login(officer)
    text = client.get("/reminders/log/", {"state": "in-doubt"}).text
    assert "1 e-mail," in text
    assert "It may have arrived more than once" in text


def test_a_worker_that_stood_still_too_long_sends_nothing(waiting, settings):
    Reminder.objects.exclude(pk=waiting[0].pk).delete()
    slow = reminder_claim(now=NOW)
    quick = reminder_claim(now=NOW + CLAIM_LASTS)
    with MailServer() as server:
        _use(settings, server)
        assert not reminder_deliver(reminder=slow, sent_at=NOW + CLAIM_LASTS)
        assert server.received == []
        assert reminder_deliver(reminder=quick, sent_at=NOW + CLAIM_LASTS)

        assert len(server.received) == 1
    assert waiting[0].undecided_count == 0


def test_a_failure_is_shown_and_tried_again_later_and_later(waiting, broken_mail):
    reminder = reminder_claim(now=NOW)
    Reminder.objects.exclude(pk=reminder.pk).delete()
    assert not reminder_deliver(reminder=reminder, sent_at=NOW)

    reminder.refresh_from_db()
    assert (reminder.state, reminder.next_attempt_at) == ("waiting", NOW + MINUTE)
    assert "ConnectionRefusedError" in reminder.last_error
    assert reminder_claim(now=NOW + MINUTE - datetime.timedelta(seconds=1)) is None

    waits = []
    now = NOW
    while reminder.state == "waiting":
        waits.append(reminder.next_attempt_at - now)
        now = reminder.next_attempt_at
        assert not reminder_deliver(reminder=reminder_claim(now=now), sent_at=now)
        reminder.refresh_from_db()
    assert [wait / MINUTE for wait in waits] == [1, 2, 4, 8, 16, 32, 64]
    assert (reminder.state, reminder.attempts) == ("failed", ATTEMPTS_MAX)


def test_one_that_was_given_up_can_be_sent_after_all(waiting, mailbox, officer):
    waiting.update(state="failed", attempts=ATTEMPTS_MAX, last_error="SMTPServerDisconnected: gone")

    reminder_retry(by=officer, reminder=waiting[0])
    _send_all()

    assert [row.state for row in waiting] == ["sent", "failed"]
    assert waiting[0].last_error == ""


def test_one_that_ends_every_worker_is_given_up(waiting, mailbox):
    waiting.update(state="sending", claimed_at=NOW, attempts=ATTEMPTS_MAX)

    assert reminder_claim(now=NOW + CLAIM_LASTS) is None
    assert {(row.state, row.last_error) for row in waiting} == {("failed", ENDED_MIDWAY)}


def test_what_was_settled_meanwhile_is_dropped_not_sent(admin, chiller, waiting, mailbox):
    file(admin, chiller, "2026-03-18", repaired=[leak(chiller)])
    # As if the reminder had been raised at the very moment of that filing.
    Reminder.objects.filter(state="dropped").update(state="waiting")

    _send_all()

    assert [message["Subject"].split(" due")[0] for message in _messages(mailbox)] == [
        "Initial verification test"
    ]
    assert set(Reminder.objects.filter(owed_key__contains=":repair:").values_list("state", flat=True)) == {
        "dropped",
        "waiting",
    }


def test_one_with_a_due_date_that_moved_is_dropped_not_sent(chiller, waiting, mailbox):
    chiller.obligations.filter(kind="repair").update(due_on=day("2026-05-01"))

    _send_all()

    assert len(_messages(mailbox)) == 1


def test_lines_in_the_portal_are_not_sent_by_e_mail(waiting, mailbox):
    _send_all()

    assert Reminder.objects.filter(channel="portal", state="sent", sent_at=NOW).count() == 2
    assert len(_messages(mailbox)) == 2


def test_the_tasks_do_all_of_it_and_note_what_came_of_it(admin, officer, chiller, mailbox, time_machine):
    over_the_threshold(admin, chiller, "2026-03-02")
    time_machine.move_to(NOW)

    raise_reminders()
    send_reminders()

    assert len(_messages(mailbox)) == 2
    outcomes = dict(TaskRun.objects.values_list("name", "outcome"))
    assert outcomes["compliance.tasks.raise_reminders"] == "4 raised"
    assert outcomes["compliance.tasks.send_reminders"] == "2 sent, 0 failed"


def test_a_failed_sending_marks_the_run(waiting, broken_mail, time_machine):
    time_machine.move_to(NOW)

    send_reminders()

    run = TaskRun.objects.get(name="compliance.tasks.send_reminders")
    assert (run.outcome, run.has_failed) == ("0 sent, 2 failed", True)


def test_a_task_that_breaks_says_so(waiting, monkeypatch, time_machine):
    def fail(**_):
        raise OSError("the disk is full")

    monkeypatch.setattr("compliance.tasks.reminders_raise", fail)
    with pytest.raises(OSError, match="the disk is full"):
        raise_reminders()

    run = TaskRun.objects.get(name="compliance.tasks.raise_reminders")
    assert (run.outcome, run.has_failed) == ("OSError: the disk is full", True)
    assert run.finished_at
