"""Digests hold every reminder once and come once a day; quiet hours put e-mails off until their end."""

import datetime
import email
import email.policy
import zoneinfo

import pytest

from compliance.models import Reminder, ReminderDigest, TaskRun
from compliance.services.outbox import ATTEMPTS_MAX, CLAIM_LASTS
from compliance.services.reminder_preferences import reminder_preference_choose
from compliance.services.reminders import (
    digest_claim,
    digest_deliver,
    reminder_claim,
    reminder_deliver,
    reminder_retry,
    reminders_raise,
)
from compliance.tasks import send_reminders
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

CHICAGO = zoneinfo.ZoneInfo("America/Chicago")
MINUTE = datetime.timedelta(minutes=1)
HOUR = datetime.timedelta(hours=1)


@pytest.fixture
def case(admin, chiller):
    """Repair and initial test are due on 1 April 2026; the first milestone is 18 March."""
    over_the_threshold(admin, chiller, "2026-03-02")
    return chiller


def _at(on, clock, zone=CHICAGO):
    return datetime.datetime.combine(day(on), datetime.time.fromisoformat(clock), zone)


def _digest(user, hour=7, **fields):
    fields = {"time_zone": "America/Chicago", **fields}
    return reminder_preference_choose(by=user, rhythm="digest", digest_hour=hour, **fields)


def _messages(mailbox):
    paths = sorted(mailbox.glob("*.eml")) if mailbox.exists() else []
    return [email.message_from_bytes(path.read_bytes(), policy=email.policy.default) for path in paths]


def _send(now):
    """All that can be sent at an instant, as the task does."""
    sent = 0
    while row := reminder_claim(now=now) or digest_claim(now=now):
        if isinstance(row, ReminderDigest):
            sent += digest_deliver(digest=row, sent_at=now)
        else:
            sent += reminder_deliver(reminder=row, sent_at=now)
    return sent


def _states(user):
    return set(Reminder.objects.filter(user=user, channel="email").values_list("state", flat=True))


def test_all_that_waits_comes_in_one_e_mail_at_the_hour(case, officer, mailbox):
    _digest(officer)
    reminders_raise(now=_at("2026-03-18", "00:05"))

    assert _send(_at("2026-03-18", "06:59")) == 0
    assert _send(_at("2026-03-18", "07:00")) == 1

    (message,) = _messages(mailbox)
    assert (message["Subject"], message["To"]) == ("2 reminders", officer.email)
    assert message["Auto-Submitted"] == "auto-generated"
    for part in ("plain", "html"):
        text = message.get_body((part,)).get_content()
        for name in ("Leak repair", "Initial verification test"):
            assert text.count(name) == 1
        for row in case.obligations.filter(due_on=day("2026-04-01")):
            assert text.count(f"/obligations/{row.pk}/") == 1
        assert "due in 14 days" in text
        # An officer files no visits.
        assert "/events/add/" not in text
    assert _states(officer) == {"sent"}


def test_whoever_files_visits_finds_the_form_in_the_digest(admin, case, technician_user, mailbox):
    case.technician = add_technician(admin, technician_user)
    case.save()
    _digest(technician_user)
    reminders_raise(now=_at("2026-03-18", "00:05"))
    _send(_at("2026-03-18", "07:00"))

    (message,) = _messages(mailbox)
    for part in ("plain", "html"):
        text = message.get_body((part,)).get_content()
        assert f"/appliances/{case.pk}/events/add/?settles=repair" in text


def test_a_day_has_one_digest_and_one_without_reminders_none(case, officer, mailbox):
    _digest(officer)
    for offset in range(0, 15 * 24, 4):
        now = _at("2026-03-18", "00:05") + offset * HOUR
        reminders_raise(now=now)
        _send(now)

    # 14, 7, 3 and 1 days before and on the day; three days after the first one nobody has acknowledged it.
    days = [digest.due_at.astimezone(CHICAGO).date().isoformat() for digest in ReminderDigest.objects.all()]
    milestones = ["2026-03-18", "2026-03-25", "2026-03-29", "2026-03-31", "2026-04-01"]
    assert sorted(days) == sorted([*milestones, "2026-03-21"])
    assert [message["Subject"] for message in _messages(mailbox)] == ["2 reminders"] * 6


def test_each_reminder_is_in_one_digest_over_a_whole_run(case, officer, mailbox):
    _digest(officer, hour=5)
    for offset in range(40):
        now = _at("2026-03-15", "12:00") + offset * datetime.timedelta(days=1)
        reminders_raise(now=now)
        _send(now + 20 * HOUR)

    sent = Reminder.objects.filter(user=officer, channel="email", state="sent")
    assert sent.count() == 2 * len(_messages(mailbox)) > 30
    assert all(row.digest_id and row.sent_at == row.digest.sent_at for row in sent)


def test_what_is_raised_after_the_hour_waits_for_the_next_day(admin, case, officer, mailbox):
    _digest(officer)
    reminders_raise(now=_at("2026-03-18", "07:05"))

    assert _send(_at("2026-03-18", "23:59")) == 0
    assert _send(_at("2026-03-19", "07:00")) == 1


def test_the_portal_shows_it_at_once(case, officer):
    _digest(officer)
    reminders_raise(now=_at("2026-03-18", "00:05"))

    portal = Reminder.objects.filter(user=officer, channel="portal")
    assert set(portal.values_list("state", flat=True)) == {"sent"}


def test_others_get_theirs_by_themselves(case, officer, technician_user, admin, mailbox):
    _digest(officer)
    customer = case.site.customer
    customer.email, customer.is_reminded, customer.reminders_agreed_on = (
        "ida@larkspur.example",
        True,
        day("2026-01-01"),
    )
    customer.save()
    reminders_raise(now=_at("2026-03-18", "08:00"))

    assert _send(_at("2026-03-18", "08:01")) == 2
    assert {message["To"] for message in _messages(mailbox)} == {"ida@larkspur.example"}


def test_what_was_settled_before_the_hour_is_left_out(admin, case, officer, mailbox):
    _digest(officer)
    reminders_raise(now=_at("2026-03-18", "00:05"))
    file(admin, case, "2026-03-18", repaired=[leak(case)], filed_at=_at("2026-03-18", "06:00"))

    _send(_at("2026-03-18", "07:00"))

    (message,) = _messages(mailbox)
    assert message["Subject"].startswith("1 reminder: Initial verification test due in 14 days")


def test_what_was_settled_while_the_digest_waited_to_be_tried_again_is_left_out(
    admin, case, officer, mailbox
):
    _digest(officer)
    reminders_raise(now=_at("2026-03-18", "00:05"))
    digest = digest_claim(now=_at("2026-03-18", "07:00"))
    assert digest.items.count() == 2
    file(admin, case, "2026-03-18", repaired=[leak(case)], filed_at=_at("2026-03-18", "07:01"))

    _send(_at("2026-03-18", "07:00") + CLAIM_LASTS)

    assert [message["Subject"][:37] for message in _messages(mailbox)] == [
        "1 reminder: Initial verification test"
    ]


def test_a_digest_with_nothing_left_is_not_sent_and_what_comes_back_waits_for_the_next(
    admin, case, officer, mailbox
):
    _digest(officer)
    reminders_raise(now=_at("2026-03-18", "00:05"))
    digest_claim(now=_at("2026-03-18", "07:00"))
    officer.is_active = False
    officer.save()
    assert _send(_at("2026-03-18", "07:00") + CLAIM_LASTS) == 0
    assert ReminderDigest.objects.get().state == "dropped"

    officer.is_active = True
    officer.save()
    assert _send(_at("2026-03-18", "09:00")) == 0
    assert _send(_at("2026-03-19", "07:00")) == 1
    assert _messages(mailbox)[0]["Subject"] == "2 reminders"


def test_a_worker_that_ended_after_sending_leaves_its_digest_to_be_known_again(case, officer, mailbox):
    _digest(officer)
    reminders_raise(now=_at("2026-03-18", "00:05"))
    now = _at("2026-03-18", "07:00")
    lost = digest_claim(now=now)
    digest_deliver(digest=lost, sent_at=now)
    # It was killed before it could note that.
    ReminderDigest.objects.update(state="sending", sent_at=None)
    Reminder.objects.filter(digest=lost).update(state="sending", sent_at=None)

    _send(now + CLAIM_LASTS)

    first, second = _messages(mailbox)
    assert first["Message-ID"] == second["Message-ID"]
    assert _states(officer) == {"sent"}


def test_a_worker_that_ended_between_its_two_notes_is_made_up_for(case, officer, mailbox):
    _digest(officer)
    reminders_raise(now=_at("2026-03-18", "00:05"))
    now = _at("2026-03-18", "07:00")
    digest_deliver(digest=digest_claim(now=now), sent_at=now)
    Reminder.objects.filter(channel="email").update(state="sending", sent_at=None)

    _send(now + MINUTE)

    rows = Reminder.objects.filter(channel="email")
    assert set(rows.values_list("state", "sent_at")) == {("sent", now)}
    assert len(_messages(mailbox)) == 1


def test_a_digest_that_was_given_up_can_be_tried_again_by_its_reminders(case, officer, mailbox):
    _digest(officer)
    reminders_raise(now=_at("2026-03-18", "00:05"))
    now = _at("2026-03-18", "07:00")
    digest = digest_claim(now=now)
    digest.items.update(state="sending")
    ReminderDigest.objects.update(state="failed", attempts=ATTEMPTS_MAX, last_error="SMTPDataError: full")
    _send(now + MINUTE)
    rows = Reminder.objects.filter(channel="email")
    assert set(rows.values_list("state", "last_error")) == {("failed", "SMTPDataError: full")}

    reminder_retry(by=officer, reminder=rows[0])

    assert _send(now + HOUR) == 0
    assert _send(_at("2026-03-19", "07:00")) == 1
    assert _messages(mailbox)[0]["Subject"].startswith("1 reminder: ")


def test_who_gives_up_the_digest_gets_what_waits_at_once(case, officer, mailbox):
    _digest(officer)
    reminders_raise(now=_at("2026-03-18", "07:05"))
    reminder_preference_choose(by=officer, rhythm="single")

    assert _send(_at("2026-03-18", "08:00")) == 2


def test_who_moves_the_hour_gets_what_was_raised_by_then(case, officer, mailbox):
    _digest(officer)
    reminders_raise(now=_at("2026-03-18", "07:05"))
    _digest(officer, hour=9)

    assert _send(_at("2026-03-18", "08:59")) == 0
    assert _send(_at("2026-03-18", "09:00")) == 1


def test_a_clock_that_steps_back_makes_no_second_digest_and_loses_nothing(admin, case, officer, mailbox):
    _digest(officer)
    reminders_raise(now=_at("2026-03-18", "00:05"))
    _send(_at("2026-03-18", "07:00"))
    reminders_raise(now=_at("2026-03-17", "23:30"))

    # The machine's clock is put back by a day and a half, and runs on from there.
    for hours in range(60):
        _send(_at("2026-03-16", "19:00") + hours * HOUR)
    assert len(_messages(mailbox)) == 1

    over_the_threshold(admin, add_appliance(admin, "Chiller 2"), "2026-03-02")
    reminders_raise(now=_at("2026-03-19", "03:05"))
    assert _send(_at("2026-03-19", "07:00")) == 1
    assert len(_messages(mailbox)) == 2


def test_what_a_clock_that_ran_ahead_has_dated_later_doesnt_wait_for_that_day(case, officer, mailbox):
    _digest(officer)
    reminders_raise(now=_at("2026-03-24", "12:00"))

    assert _send(_at("2026-03-19", "07:00")) == 1


@pytest.mark.parametrize(
    ("zone", "hour", "due"),
    [
        # On 8 March 2026 Chicago's clocks go from 02:00 to 03:00, on 1 November from 02:00 back to 01:00.
        ("America/Chicago", 2, "2026-03-08T08:00:00+00:00"),
        ("America/Chicago", 1, "2026-11-01T06:00:00+00:00"),
        ("Pacific/Kiritimati", 6, "2026-03-17T16:00:00+00:00"),
        ("Pacific/Pago_Pago", 6, "2026-03-18T17:00:00+00:00"),
        ("Pacific/Apia", 6, "2026-03-18T17:00:00+00:00"),
    ],
)
def test_the_hour_is_the_recipients(admin, chiller, officer, mailbox, zone, hour, due):
    due_at = datetime.datetime.fromisoformat(due)
    over_the_threshold(admin, chiller, (due_at.date() - datetime.timedelta(days=30)).isoformat())
    _digest(officer, hour=hour, time_zone=zone)
    reminders_raise(now=due_at - HOUR)

    assert _send(due_at - MINUTE) == 0
    assert _send(due_at) == 1
    for minutes in range(0, 180, 15):
        assert _send(due_at + minutes * MINUTE) == 0


def test_quiet_hours_put_an_e_mail_off_until_their_end(case, officer, mailbox):
    quiet = {"quiet_from": datetime.time(21), "quiet_to": datetime.time(6, 30)}
    reminder_preference_choose(by=officer, rhythm="single", time_zone="Europe/Berlin", **quiet)
    reminders_raise(now=_at("2026-03-18", "12:00"))

    berlin = zoneinfo.ZoneInfo("Europe/Berlin")
    assert _send(_at("2026-03-18", "21:00", berlin)) == 0
    assert _send(_at("2026-03-19", "06:29", berlin)) == 0
    assert _send(_at("2026-03-19", "06:30", berlin)) == 2


def test_a_failure_is_not_tried_again_in_quiet_hours(case, officer, mailbox):
    quiet = {"quiet_from": datetime.time(21), "quiet_to": datetime.time(6)}
    reminder_preference_choose(by=officer, rhythm="single", time_zone="America/Chicago", **quiet)
    reminders_raise(now=_at("2026-03-18", "12:00"))
    Reminder.objects.filter(channel="email").update(
        attempts=1, next_attempt_at=_at("2026-03-18", "21:01"), last_error="TimeoutError: "
    )

    assert _send(_at("2026-03-18", "21:02")) == 0
    assert _send(_at("2026-03-19", "06:00")) == 2


def test_a_contact_isnt_written_to_at_night_by_the_sites_clock(admin, officer, mailbox):
    customer = add_customer(admin, email="ida@larkspur.example", **AGREED)
    site = add_site(admin, customer, "Harbour", time_zone="Pacific/Honolulu")
    over_the_threshold(admin, add_appliance(admin, site=site), "2026-03-02")
    honolulu = zoneinfo.ZoneInfo("Pacific/Honolulu")
    reminders_raise(now=_at("2026-03-18", "00:05", honolulu))

    _send(_at("2026-03-18", "00:06", honolulu))
    assert {message["To"] for message in _messages(mailbox)} == {officer.email}
    assert _send(_at("2026-03-18", "06:59", honolulu)) == 0
    assert _send(_at("2026-03-18", "07:00", honolulu)) == 2


def test_the_task_sends_digests_too(case, officer, mailbox, time_machine):
    _digest(officer)
    reminders_raise(now=_at("2026-03-18", "00:05"))
    time_machine.move_to(_at("2026-03-18", "07:03"))

    send_reminders()

    assert len(_messages(mailbox)) == 1
    assert TaskRun.objects.get().outcome == "1 sent, 0 failed"


def test_the_status_page_tells_what_is_kept_back(client, case, officer, time_machine):
    time_machine.move_to(noon(day("2026-03-18")))
    _digest(officer)
    reminders_raise(now=noon(day("2026-03-18")))
    client.force_login(officer)

    text = client.get("/status/").text

    assert "<dt>Reminders waiting</dt><dd>0</dd>" in text
    assert "<dd>2, for digests and the end of quiet hours</dd>" in text
