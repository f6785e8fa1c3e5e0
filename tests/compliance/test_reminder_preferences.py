"""Everybody chooses how their own reminders come by e-mail, and sees what follows from it."""

import datetime

import pytest
from django.urls import reverse

from compliance.models import ReminderPreference
from compliance.services.reminder_preferences import reminder_preference_choose
from tests.compliance.firm import add_technician, day, noon, over_the_threshold

pytestmark = pytest.mark.django_db

PAGE = "/reminders/mine/"
CHOICE = {
    "rhythm": "digest",
    "digest_hour": "7",
    "quiet_from": "21:30",
    "quiet_to": "06:00",
    "time_zone": "Europe/Berlin",
}


@pytest.fixture(autouse=True)
def _tenth_of_march(time_machine):
    time_machine.move_to(noon(day("2026-03-10")))


def test_a_choice_is_kept_with_its_history(client, officer):
    client.force_login(officer)
    client.post(PAGE, {**CHOICE, "rhythm": "single"})

    text = client.post(PAGE, CHOICE, follow=True).text

    assert "Your choice is kept." in text
    chosen = ReminderPreference.objects.get(user=officer)
    assert (chosen.rhythm, chosen.digest_hour) == ("digest", 7)
    assert (chosen.quiet_from, chosen.quiet_to) == (datetime.time(21, 30), datetime.time(6))
    history = chosen.history.order_by("history_id")
    assert [(row.rhythm, row.history_user) for row in history] == [("single", officer), ("digest", officer)]


def test_the_page_tells_the_time_there_and_the_next_digest(client, officer):
    client.force_login(officer)

    text = client.post(PAGE, CHOICE, follow=True).text

    # Noon in Chicago is 19:00 in Berlin: on 10 March only the one of them has summer time.
    assert 'It is <span class="date">2026-03-10 19:00</span> in Europe/Berlin.' in text
    assert 'next digest is due at <span class="date">2026-03-11 07:00</span>' in text
    assert "It is quiet until" not in text


def test_the_page_tells_until_when_it_is_quiet(client, officer):
    client.force_login(officer)

    text = client.post(PAGE, {**CHOICE, "rhythm": "single", "quiet_from": "18:00"}, follow=True).text

    assert 'It is quiet until <span class="date">2026-03-11 06:00</span>; e-mails wait until then.' in text
    assert "next digest" not in text


def test_everybody_has_the_page_and_nobody_sees_anybody_elses(
    client, officer, technician_user, admin, stranger
):
    reminder_preference_choose(by=officer, rhythm="digest", time_zone="Pacific/Apia")
    for user, status in ((technician_user, 200), (admin, 200), (stranger, 403)):
        client.force_login(user)
        response = client.get(PAGE)

        assert response.status_code == status
        assert "Pacific/Apia." not in response.text


@pytest.mark.parametrize(
    ("changes", "field", "said"),
    [
        ({"quiet_to": ""}, "quiet_to", "Expected the time at which the quiet hours end. You gave nothing."),
        ({"quiet_from": ""}, "quiet_from", "Expected the time at which the quiet hours begin."),
        ({"quiet_to": "21:30"}, "quiet_to", "Expected another time than 21:30"),
        ({"quiet_from": "9 pm"}, "quiet_from", "Expected a time such as 21:30. You gave “9 pm”."),
        ({"digest_hour": "23"}, "digest_hour", "Expected an hour outside your quiet hours, 21:30 to 06:00."),
        ({"digest_hour": "24"}, "digest_hour", "Expected one of the choices offered. You gave “24”."),
        ({"time_zone": "Mars/Olympus"}, "time_zone", "You gave “Mars/Olympus”."),
        ({"rhythm": "never"}, "rhythm", "You gave “never”."),
    ],
)
def test_what_cant_be_is_refused_at_its_field(client, officer, changes, field, said):
    client.force_login(officer)

    form = client.post(PAGE, {**CHOICE, **changes}).context["form"]

    assert list(form.errors) == [field]
    assert said in form.errors[field][0]
    assert not ReminderPreference.objects.exists()


def test_a_digest_may_be_due_at_the_end_of_the_quiet_hours(client, officer):
    client.force_login(officer)

    client.post(PAGE, {**CHOICE, "digest_hour": "6"})

    assert ReminderPreference.objects.get().digest_hour == 6


def test_the_hour_of_a_digest_that_nobody_asked_for_may_be_quiet(client, officer):
    client.force_login(officer)

    client.post(PAGE, {**CHOICE, "digest_hour": "23", "rhythm": "single"})

    assert ReminderPreference.objects.get().rhythm == "single"


def test_the_case_tells_how_each_person_is_reminded(client, admin, officer, technician_user, chiller):
    chiller.technician = add_technician(admin, technician_user)
    chiller.save()
    over_the_threshold(admin, chiller, "2026-03-02")
    reminder_preference_choose(by=officer, rhythm="digest", digest_hour=8, time_zone="Europe/Berlin")
    quiet = {"quiet_from": datetime.time(21), "quiet_to": datetime.time(6)}
    reminder_preference_choose(by=technician_user, rhythm="single", time_zone="America/Denver", **quiet)
    client.force_login(officer)

    page = reverse("obligation-detail", args=[chiller.obligations.get(kind="repair").pk])
    text = client.get(page).text

    assert "compliance officer; in the portal, by e-mail in the digest at 08:00 (Europe/Berlin)" in text
    assert "in the portal, by e-mail, not from 21:00 to 06:00 (America/Denver)" in text
