"""A feed's address lets its bearer in and nobody else, for as long as its person may look and wants it to."""

import datetime
import re

import pytest
from django.contrib.auth.models import Group
from django.test import Client
from django.urls import reverse

from compliance.models import CalendarFeed
from compliance.services.calendar_feeds import (
    calendar_feed_renew,
    calendar_feed_switch_off,
    calendar_feed_switch_on,
    reading,
)
from portal.accounts.models import User
from tests.compliance.calendar_feeds.reading import NOW, address_of, events
from tests.compliance.firm import over_the_threshold

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("tenth_of_march")]

PAGE = "/reminders/mine/"


def _get(address, **headers):
    return Client().get(address, headers=headers)


def test_it_is_read_without_signing_in_and_kept_by_nobody_else(officer):
    response = _get(address_of(officer))

    assert response.status_code == 200
    assert response["Content-Type"] == "text/calendar; charset=utf-8"
    assert response["Cache-Control"] == "private, no-cache"
    assert response["Referrer-Policy"] == "no-referrer"
    assert response["X-Robots-Tag"] == "noindex"
    assert response["X-Content-Type-Options"] == "nosniff"
    assert not response.cookies


def test_it_is_long_and_random_and_the_database_doesnt_hold_it(officer, admin):
    tokens = [re.fullmatch(r"/calendar/([\w.-]+)\.ics", address_of(user))[1] for user in (officer, admin)]

    assert {len(token) for token in tokens} == {32 + 1 + 43}
    for user, token in zip((officer, admin), tokens, strict=True):
        row = CalendarFeed.objects.filter(user=user).values().get()
        assert token not in map(str, row.values())
        # What the database holds opens nothing.
        assert _get(f"/calendar/{row['key']}.ics").status_code == 404


def test_an_address_that_isnt_ours_costs_no_query(officer, django_assert_num_queries):
    address = address_of(officer)
    wrong = [
        "/calendar/nothing.ics",
        f"/calendar/{'x' * 32}.{'y' * 43}.ics",
        address.replace("/calendar/", "/calendar/x"),
        address[:20] + ("a" if address[20] != "a" else "b") + address[21:],
        address.replace(".ics", "x.ics"),
    ]

    with django_assert_num_queries(0):
        responses = [_get(path) for path in wrong]

    assert {(response.status_code, response.text) for response in responses} == {
        (404, "There is no calendar at this address.\n")
    }
    assert responses[0]["Referrer-Policy"] == "no-referrer"


def test_a_renewed_address_ends_the_old_one(officer, admin):
    old, others = address_of(officer), address_of(admin)
    calendar_feed_renew(by=officer, made_at=NOW)
    new = address_of(officer)

    assert old != new
    assert [_get(path).status_code for path in (old, new, others)] == [404, 200, 200]


def test_switched_off_it_ends(officer):
    address = address_of(officer)

    assert calendar_feed_switch_off(by=officer)
    assert not calendar_feed_switch_off(by=officer)

    assert _get(address).status_code == 404
    assert address_of(officer) != address


def test_switching_on_twice_keeps_the_address(officer):
    assert address_of(officer) == address_of(officer)


@pytest.mark.parametrize("way", ["inactive", "no role", "one-time password"])
def test_who_may_open_no_page_reads_no_feed(officer, way):
    address = address_of(officer)
    assert _get(address).status_code == 200

    if way == "no role":
        officer.groups.remove(Group.objects.get(name="compliance_officer"))
    else:
        column = {"inactive": {"is_active": False}, "one-time password": {"has_one_time_password": True}}
        User.objects.filter(pk=officer.pk).update(**column[way])

    assert _get(address).status_code == 404


def test_it_is_read_and_not_written(officer):
    address = address_of(officer)

    assert Client().post(address).status_code == 405
    head = Client().head(address)
    assert (head.status_code, head.content) == (200, b"")


def test_what_hasnt_changed_isnt_sent_again(admin, chiller, officer):
    address = address_of(officer)
    etag = _get(address)["ETag"]
    same = _get(address, if_none_match=etag)
    over_the_threshold(admin, chiller, "2026-03-02")
    other = _get(address, if_none_match=etag)

    assert re.fullmatch(r'"[0-9a-f]{64}"', etag)
    assert (same.status_code, same.content, same["ETag"]) == (304, b"", etag)
    assert same["Cache-Control"] == "private, no-cache"
    assert (other.status_code, b"VEVENT" in other.content) == (200, True)
    assert other["ETag"] != etag


def test_the_tag_is_another_for_whatever_the_text_shows(chiller, admin, officer, settings):
    over_the_threshold(admin, chiller, "2026-03-02")
    address = address_of(officer)
    tags = [_get(address)["ETag"]]
    for change in (
        lambda: setattr(settings, "FIRM_NAME", "Ash & Larch"),
        lambda: setattr(settings, "SITE_URL", "https://portal.example.org"),
        lambda: User.objects.filter(pk=officer.pk).update(full_name="Clement O. Osei"),
        lambda: type(chiller).objects.filter(pk=chiller.pk).update(name="Chiller one"),
        lambda: officer.groups.add(Group.objects.get(name="technician")),
        lambda: chiller.obligations.filter(kind="repair").update(status="met"),
    ):
        change()
        tags.append(_get(address)["ETag"])

    assert len(set(tags)) == len(tags)


def test_it_is_noted_when_it_was_read(officer, time_machine):
    feed = calendar_feed_switch_on(by=officer, made_at=NOW)
    assert feed.last_read_at is None
    address = address_of(officer)
    for seconds in (0, 40, 60, 100):
        time_machine.move_to(NOW + datetime.timedelta(seconds=seconds), tick=False)
        _get(address)

    feed.refresh_from_db()
    assert feed.last_read_at == NOW + datetime.timedelta(seconds=60)
    assert calendar_feed_renew(by=officer, made_at=NOW).last_read_at is None


def test_who_reads_far_too_often_waits_until_the_next_hour(officer, admin, monkeypatch, time_machine):
    monkeypatch.setattr(reading, "READS_PER_HOUR", 3)
    time_machine.move_to(NOW + datetime.timedelta(minutes=45), tick=False)
    address = address_of(officer)
    for _ in range(3):
        assert _get(address).status_code == 200

    refused = _get(address)

    assert (refused.status_code, refused["Retry-After"]) == (429, "900")
    assert _get(address_of(admin)).status_code == 200
    time_machine.move_to(NOW + datetime.timedelta(minutes=61), tick=False)
    assert _get(address).status_code == 200


# --- The page on which a person keeps it -----------------------------------------------------


def test_the_page_shows_the_address_to_its_person_alone(
    client, admin, chiller, officer, technician_user, stranger
):
    over_the_threshold(admin, chiller, "2026-03-02")
    client.force_login(officer)
    assert "It is switched off." in client.get(PAGE).text

    response = client.post(reverse("calendar-feed-on"), follow=True)

    address = f"http://testserver{address_of(officer)}"
    assert f'value="{address}"' in response.text
    assert "Whoever has this address can read your calendar without signing in:" in response.text
    assert f"It holds {len(events(officer))} entries now." in response.text
    assert "no-store" in response["Cache-Control"]
    client.force_login(technician_user)
    text = client.get(PAGE).text
    assert "/calendar/" not in text.replace("/mine/calendar/", "")
    assert "It holds 0 entries now." in text


def test_the_page_tells_when_it_was_read(client, officer):
    client.force_login(officer)
    client.post(reverse("calendar-feed-on"))
    assert "not read yet" in client.get(PAGE).text

    _get(address_of(officer))

    assert 'last read <span class="date">2026-03-10 13:00</span>' in client.get(PAGE).text


def test_the_page_renews_and_switches_off_ones_own(client, officer, technician_user):
    others, old = address_of(technician_user), address_of(officer)
    client.force_login(officer)

    text = client.post(reverse("calendar-feed-renew"), follow=True).text
    assert "the old one has ended" in text
    new = address_of(officer)
    assert new in text
    assert old != new

    assert "switched off" in client.post(reverse("calendar-feed-off"), follow=True).text
    assert [_get(path).status_code for path in (old, new, others)] == [404, 404, 200]


@pytest.mark.parametrize("act", ["on", "renew", "off"])
def test_strangers_have_no_calendar_and_following_a_link_changes_none(client, officer, stranger, act):
    page = reverse(f"calendar-feed-{act}")
    client.force_login(stranger)
    assert client.post(page).status_code == 403
    client.force_login(officer)
    assert client.get(page).status_code == 405

    assert not CalendarFeed.objects.exists()


def test_the_administration_doesnt_show_the_key(client, officer):
    feed = calendar_feed_switch_on(by=officer, made_at=NOW)
    client.force_login(User.objects.create_superuser("root@example.org", "x", full_name="Root"))

    for page in ("changelist", "change"):
        args = [feed.pk] if page == "change" else []
        response = client.get(reverse(f"admin:compliance_calendarfeed_{page}", args=args))
        assert response.status_code == 200
        assert feed.key not in response.text
