"""Reminders of what runs out: once for each milestone, person and channel, to the right people, and dropped."""

import datetime

import pytest
from django.core import mail
from django.db import IntegrityError, transaction

from compliance.models import AcknowledgementWay, Reminder
from compliance.selectors.expiring import expiring_to
from compliance.selectors.reminders import inbox
from compliance.services.reminder_plans import PlanEntry, reminder_plan_decide
from compliance.services.reminder_preferences import reminder_preference_choose
from compliance.services.reminders import (
    digest_claim,
    digest_deliver,
    reminder_acknowledge,
    reminder_claim,
    reminder_deliver,
    reminders_raise,
)
from jobs.services.technicians import certification_change
from tests.compliance.firm import add_technician, day, noon
from tests.compliance.running_out import apprentice, calibrate, calibrated_scale, certificate
from tests.factories import CylinderFactory, UserFactory
from tests.jobs.cylinder_acts import requalify

pytestmark = pytest.mark.django_db

LAST = "2026-06-30"


def _raise(on):
    return reminders_raise(now=noon(day(on)))


def _whom(**wanted):
    rows = Reminder.objects.filter(channel="email", is_escalation=False, **wanted)
    return sorted(rows.values_list("recipient_email", flat=True))


def _sent(on):
    sent = []
    while row := reminder_claim(now=noon(day(on))):
        assert reminder_deliver(reminder=row, sent_at=noon(day(on)))
        sent.append(row)
    return sent


@pytest.fixture
def held(admin, technician_user, officer):
    """A certificate of a technician who signs in, with its last day on 30 June 2026."""
    return certificate(LAST, technician=add_technician(admin, technician_user))


def test_the_technician_the_officers_and_the_office_are_reminded_of_a_certificate(
    held, admin, technician_user, officer
):
    assert _raise("2026-05-31") == 6

    assert _whom(technician=held.technician) == sorted([admin.email, technician_user.email, officer.email])
    row = Reminder.objects.get(channel="email", user=admin)
    assert (row.milestone, row.due_on) == ("30 days before", day(LAST))
    assert row.subject == f"Certificate runs out in 30 days: EU A1 no. {held.number}, Tamsin Okafor"


@pytest.mark.parametrize(
    "make", [lambda: CylinderFactory(requalified_on=day("2021-06-01")), lambda: calibrated_scale(LAST)]
)
def test_the_office_and_the_officers_are_reminded_of_a_cylinder_or_an_instrument(
    make, admin, technician_user, officer
):
    make()

    _raise("2026-05-31")

    assert _whom() == sorted([admin.email, officer.email])


def test_only_who_may_file_it_is_led_to_the_form(held, admin, technician_user, officer):
    _raise("2026-05-31")

    bodies = {row.user: row.body for row in Reminder.objects.filter(channel="email")}
    form = f"/certifications/{held.pk}/renew/"
    assert [form in bodies[user] for user in (admin, technician_user, officer)] == [True, False, False]
    assert all(f"/technicians/{held.technician_id}/" in body for body in bodies.values())
    assert all("Implementing Regulation (EU) 2024/2215 Art. 4(2)" in body for body in bodies.values())


def test_each_milestone_is_raised_once_over_the_whole_run(held, officer):
    for offset in range(130):
        _raise((day("2026-03-25") + datetime.timedelta(days=offset)).isoformat())

    rows = Reminder.objects.filter(user=officer, channel="portal", is_escalation=False)
    before = [*(f"{days} days before" for days in (90, 60, 30, 14, 7)), "1 day before", "on the day"]
    assert sorted(rows.values_list("milestone", flat=True)) == sorted(
        [*before, "14 days overdue", "28 days overdue"]
    )


@pytest.mark.parametrize(("on", "raised"), [("2026-03-31", False), ("2026-04-01", True)])
def test_the_first_milestone_is_ninety_days_before(held, on, raised):
    # The portal's own plan; no law asks for reminders.
    assert bool(_raise(on)) is raised


def test_the_officer_decides_on_the_days(held, officer):
    reminder_plan_decide(
        by=officer,
        kinds=["certificate"],
        effective_from=day("2026-03-10"),
        entry=PlanEntry([200], 0, 30),
        reason="The course is held once a year",
        decided_at=noon(day("2026-03-10")),
    )

    _raise("2026-03-11")

    assert set(Reminder.objects.values_list("milestone", flat=True)) == {"200 days before"}


def test_what_was_renewed_is_neither_sent_nor_shown_and_begins_anew(held, officer):
    _raise("2026-05-31")
    assert inbox(officer).count() == 1

    certification_change(
        by=UserFactory(),
        certification=held,
        expires_on=day("2026-08-29"),
        recorded_at=noon(day("2026-06-01")),
    )

    assert inbox(officer).count() == 0
    assert _sent("2026-06-01") == []
    _raise("2026-07-30")
    assert inbox(officer).get().due_on == day("2026-08-29")


def test_a_passed_test_and_a_new_calibration_settle_what_waits(admin, officer):
    cylinder, scale = CylinderFactory(requalified_on=day("2021-06-01")), calibrated_scale(LAST)
    _raise("2026-06-01")
    assert inbox(admin).count() == 2

    requalify(cylinder, happened_on=day("2026-06-01"), filed_at=noon(day("2026-06-01")))
    calibrate(scale, "2026-06-01")

    assert inbox(admin).count() == 0
    assert _sent("2026-06-01") == []
    assert set(Reminder.objects.filter(channel="email").values_list("state", flat=True)) == {"dropped"}


def test_who_is_no_longer_to_be_reminded_gets_nothing(held, technician_user):
    _raise("2026-05-31")

    held.technician.user = None
    held.technician.save()

    assert technician_user.email not in [row.recipient_email for row in _sent("2026-05-31")]
    assert inbox(technician_user).count() == 0


def test_nobody_acknowledged_is_told_to_the_officers_once(held, officer, admin):
    _raise("2026-05-31")
    assert _raise("2026-06-06") == 0
    _raise("2026-06-07")
    _raise("2026-06-08")

    told = Reminder.objects.filter(is_escalation=True, channel="portal")
    assert [(row.user, row.milestone) for row in told] == [(officer, "unacknowledged, 30 days before")]

    row = Reminder.objects.get(user=admin, channel="portal", is_escalation=False)
    reminder_acknowledge(reminder=row, way=AcknowledgementWay.PORTAL, acknowledged_at=noon(day("2026-06-08")))
    assert told.get().state == "dropped"


def test_a_digest_carries_it_with_the_form_for_who_may_file(held, technician_user, officer):
    digest = {"rhythm": "digest", "digest_hour": 7, "time_zone": "America/Chicago"}
    reminder_preference_choose(by=technician_user, **digest)
    _raise("2026-05-31")
    at = noon(day("2026-06-01"))
    _sent("2026-06-01")
    mail.outbox.clear()

    assert digest_deliver(digest=digest_claim(now=at), sent_at=at)

    (letter,) = mail.outbox
    assert "Certificate: runs out in 29 days (2026-06-30)" in letter.body
    assert f"/technicians/{held.technician_id}/" in letter.body
    assert "/renew/" not in letter.body


def test_an_apprentice_is_reminded_of_the_exemption(technician_user, officer, admin):
    apprentice("2024-02-29", user=technician_user)

    _raise("2026-02-27")
    _raise("2026-02-28")

    # 40 CFR 82.161(a): two years; the day that 2026 lacks clamps to the 28th.
    rows = Reminder.objects.filter(user=technician_user, channel="portal").order_by("pk")
    assert [row.milestone for row in rows] == ["1 day before", "on the day"]


def test_each_person_may_ask_for_all_that_they_will_be_reminded_of(
    held, admin, technician_user, officer, stranger
):
    calibrated_scale("2027-06-30")
    at = noon(day("2026-01-02"))

    names = {
        user: [item.name for item in expiring_to(user, at)] for user in (admin, technician_user, officer)
    }

    both = ["Certificate", "Calibration"]
    assert names == {admin: both, technician_user: both[:1], officer: both}
    assert expiring_to(stranger, at) == []


def test_a_reminder_is_about_one_thing(held):
    _raise("2026-05-31")
    row = Reminder.objects.first()

    row.cylinder = CylinderFactory()

    with pytest.raises(IntegrityError), transaction.atomic():
        row.save()


def test_many_take_a_fixed_number_of_queries(held, officer, django_assert_num_queries):
    for _ in range(4):
        certificate(LAST)
        calibrated_scale(LAST)
    _raise("2026-05-31")

    with django_assert_num_queries(21):
        assert _raise("2026-05-31") == 0
