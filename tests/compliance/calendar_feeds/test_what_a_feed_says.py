"""A feed holds what its person is reminded of, each thing on its due date, as vobject reads it.

Numbers of sections are those of RFC 5545 unless they say RFC 7986; recalled from memory.
"""

import datetime
import uuid

import pytest
from django.test import Client

from compliance.models import CalendarEntry, Obligation
from compliance.selectors.reminders import compliance_officers, obligations_reminded_to, recipients
from compliance.services.assignments import obligation_assign
from portal.accounts.models import User
from tests.compliance.calendar_feeds.reading import NOW, SITE, address_of, event, events, parsed, read
from tests.compliance.firm import (
    add_appliance,
    add_customer,
    add_site,
    add_technician,
    day,
    file,
    leak,
    over_the_threshold,
)

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("tenth_of_march")]


@pytest.fixture
def case(admin, technician_user):
    """Over the threshold on 2 March 2026: repair and initial test by 1 April (40 CFR 84.106(d), (e))."""
    appliance = add_appliance(admin, technician=add_technician(admin, technician_user))
    over_the_threshold(admin, appliance, "2026-03-02")
    return appliance


def _repair():
    return Obligation.objects.get(kind="repair")


def _change(**columns):
    Obligation.objects.filter(kind="repair").update(**columns)


# --- Each thing that is owed ----------------------------------------------------------------


def test_an_event_says_what_until_when_why_and_what_settles_it(case, technician_user):
    found, repair = event(technician_user), _repair()

    site = "North store, 12 Quarry Road, Dubuque, US"
    assert {name: rows[0].value for name, rows in found.contents.items()} == {
        "uid": str(uuid.uuid5(uuid.NAMESPACE_URL, f"{SITE}#obligation:{repair.key}")),
        "dtstamp": NOW,
        "last-modified": NOW,
        "sequence": "0",
        "dtstart": day("2026-04-01"),
        "dtend": day("2026-04-02"),
        "summary": "Leak repair: Chiller 1, North store, Larkspur Grocers",
        "description": "\n".join(
            [
                "Find the leaks and repair them.",
                "",
                "Appliance: Chiller 1",
                f"Site: {site}",
                "Customer: Larkspur Grocers",
                "Due: 2026-04-01 at the site",
                "",
                "Why",
                repair.because,
                f"US federal, HFCs and substitutes, {repair.citation}",
                "",
                "What settles it",
                "A filed repair that no failed verification test follows.",
                "",
                f"File the event that settles this: {SITE}/appliances/{case.pk}/events/add/?settles=repair",
                "",
                f"The whole case: {SITE}/obligations/{repair.pk}/",
                "",
                "It informs; it gives no legal advice. Local codes and licensed practice govern the work.",
            ]
        ),
        "location": site,
        "categories": ["Leak repair", "US federal, HFCs and substitutes"],
        "url": f"{SITE}/obligations/{repair.pk}/",
        "class": "PRIVATE",
        "transp": "TRANSPARENT",
    }
    assert all(len(rows) == 1 for rows in found.contents.values())
    assert "40 CFR 84.106(d)" in found.description.value
    # A date, not a midnight somewhere (3.3.4).
    assert found.dtstart.params == {"VALUE": ["DATE"]}


def test_every_obligation_is_an_event_on_its_day(admin, case, officer):
    over_the_threshold(admin, add_appliance(admin, "Chiller 2"), "2026-03-05")

    due = {f"{SITE}/obligations/{row.pk}/": row.due_on for row in Obligation.objects.exclude(due_on=None)}
    owed = Obligation.objects.filter(status__in=("open", "overdue")).exclude(kind="record_retention")
    found = {row.url.value: row.dtstart.value for row in events(officer)}
    assert found == {page: due[page] for row in owed for page in [f"{SITE}/obligations/{row.pk}/"]}
    assert len(found) >= 4


@pytest.mark.parametrize(("due_on", "over_on"), [("2028-02-28", "2028-02-29"), ("2028-02-29", "2028-03-01")])
def test_a_leap_day_is_a_day(case, technician_user, due_on, over_on):
    _change(due_on=day(due_on))

    found = event(technician_user)

    assert (found.dtstart.value, found.dtend.value) == (day(due_on), day(over_on))


@pytest.mark.parametrize(
    ("zone", "at", "is_overdue"),
    [
        # Midnight after 1 April, ten hours behind and thirteen ahead of UTC.
        ("Pacific/Honolulu", "2026-04-02T09:59", False),
        ("Pacific/Honolulu", "2026-04-02T10:01", True),
        ("Pacific/Apia", "2026-04-01T10:59", False),
        ("Pacific/Apia", "2026-04-01T11:01", True),
    ],
)
def test_the_date_is_that_at_the_site(admin, officer, time_machine, zone, at, is_overdue):
    site = add_site(admin, add_customer(admin), time_zone=zone)
    over_the_threshold(admin, add_appliance(admin, site=site), "2026-03-02")
    time_machine.move_to(datetime.datetime.fromisoformat(f"{at}+00:00"))

    found = event(officer)

    assert found.dtstart.value == day("2026-04-01")
    assert found.summary.value.startswith("Overdue: Leak repair: ") is is_overdue


def test_a_date_that_rests_on_memory_says_so(case, technician_user):
    unconfirmed = "This rests on an unconfirmed source; check it before you rely on it."
    _change(is_confirmed=True)
    assert unconfirmed not in event(technician_user).description.value

    _change(is_confirmed=False)
    assert unconfirmed in event(technician_user).description.value


def test_who_files_no_visits_is_led_to_the_case_alone(case, officer):
    found = event(officer)

    assert "/events/add/" not in found.description.value
    assert found.url.value == f"{SITE}/obligations/{_repair().pk}/"


def test_what_a_filing_settles_leads_the_officer_to_its_form(case, officer, technician_user):
    _change(kind="chronic_leak_report")
    report = Obligation.objects.get(kind="chronic_leak_report")
    form = f"/appliances/{case.pk}/filings/chronic-leak-report-filed/add/?obligation={report.pk}"

    line = f"File what settles this: {SITE}{form}"
    assert line in event(officer, "Chronic leak report").description.value
    assert form not in event(technician_user, "Chronic leak report").description.value
    client = Client()
    client.force_login(officer)
    assert client.get(form).status_code == 200


# --- What moves, and what goes ---------------------------------------------------------------


def test_a_due_date_that_moves_is_a_newer_revision_of_the_same_event(case, technician_user, time_machine):
    before = event(technician_user)
    later = NOW + datetime.timedelta(hours=2)
    time_machine.move_to(later, tick=False)
    _change(due_on=day("2026-04-15"))

    after = event(technician_user)

    assert after.uid.value == before.uid.value
    assert (before.sequence.value, after.sequence.value) == ("0", "1")
    assert (after.last_modified.value, after.dtstamp.value) == (later, later)
    assert after.dtstart.value == day("2026-04-15")


def test_another_word_is_newer_but_no_other_revision(case, technician_user, time_machine):
    event(technician_user)
    later = NOW + datetime.timedelta(hours=2)
    time_machine.move_to(later, tick=False)
    _change(because="Read anew.")

    after = event(technician_user)

    assert (after.sequence.value, after.last_modified.value) == ("0", later)


def test_the_same_records_give_the_same_octets_on_another_day(case, technician_user, officer, time_machine):
    address = address_of(technician_user)
    before = Client().get(address).content
    time_machine.move_to(NOW + datetime.timedelta(days=3), tick=False)
    events(officer)

    assert Client().get(address).content == before


def test_what_is_settled_leaves_the_calendar(admin, case, technician_user):
    settled = event(technician_user).uid.value
    file(admin, case, "2026-03-09", filed_at=NOW, repaired=[leak(case)])

    left = events(technician_user)

    assert _repair().status == "met"
    assert settled not in [row.uid.value for row in left]
    # Nothing is called off: it is done.
    assert not any("status" in row.contents for row in left)


def test_what_is_owed_again_comes_back_as_the_same_event(case, technician_user):
    first = event(technician_user)
    _change(status="met")
    assert first.uid.value not in [row.uid.value for row in events(technician_user)]

    _change(status="open", due_on=day("2026-04-20"))

    again = event(technician_user)
    assert (again.uid.value, again.sequence.value) == (first.uid.value, "1")
    assert CalendarEntry.objects.filter(owed_key=_repair().key).count() == 1


def test_an_empty_calendar_is_a_calendar(technician_user):
    calendar = read(technician_user)

    # An object has at least one component (3.6); this one is shown nowhere.
    assert [row.name for row in calendar.components()] == ["VTIMEZONE"]


# --- Whose it is -----------------------------------------------------------------------------


def _pages(user):
    return {row.url.value for row in events(user)}


def test_everybody_has_what_they_are_reminded_of_and_no_more(admin, case, technician_user, officer):
    """As :func:`recipients` says, by which letters go: two selectors that must agree."""
    former = User.objects.create_user("former@example.org", full_name="Ben Former")
    mate = User.objects.create_user("mate@example.org", full_name="Mo Mate")
    mates = add_technician(admin, mate, "Mo Mate")
    rows = [case]
    for number, technician in enumerate((None, add_technician(admin, former, "Ben Former"), mates), start=2):
        appliance = add_appliance(admin, f"Chiller {number}", technician=technician)
        over_the_threshold(admin, appliance, "2026-03-05")
        rows.append(appliance)
    former.technician.is_active = False
    former.technician.save()
    given = Obligation.objects.filter(appliance=rows[1])
    obligation_assign(obligation=given.get(kind="repair"), by=officer, technician=mates, assigned_at=NOW)
    tests = given.get(kind="initial_verification_test")
    obligation_assign(obligation=tests, by=officer, user=admin, assigned_at=NOW)

    owed = Obligation.objects.filter(status__in=("open", "overdue"), due_on__isnull=False)
    owed = owed.exclude(kind="record_retention").select_related("assignment", "appliance__technician__user")
    counts = {}
    for user in (technician_user, mate, former, officer, admin):
        wanted = {
            row.key
            for row in owed
            if user in [person.user for person in recipients(row, compliance_officers())]
        }
        assert set(obligations_reminded_to(user).values_list("key", flat=True)) == wanted
        counts[user.full_name] = len(wanted)

    assert counts["Ben Former"] == 0
    assert counts["Odile Marchetti"] == 1
    assert 0 < counts["Tamsin Okafor"] < counts["Mo Mate"] < counts["Clement Osei"] == owed.count()
    assert _pages(admin) == {f"{SITE}/obligations/{tests.pk}/"}
    assert len(_pages(officer)) == owed.count()


def test_a_feed_takes_a_fixed_number_of_queries(admin, case, officer, django_assert_num_queries):
    address = address_of(officer)
    client = Client()
    client.get(address)
    # Its feed, its rights (2), its role, what is owed, what runs out (4), what was told of both (3 with a savepoint),
    # when it was read.
    with django_assert_num_queries(13):
        client.get(address)

    for number in range(2, 6):
        over_the_threshold(admin, add_appliance(admin, f"Chiller {number}"), "2026-03-05")
    client.get(address)
    with django_assert_num_queries(13):
        client.get(address)


# --- What it says of itself ------------------------------------------------------------------


def test_the_calendar_names_itself_and_asks_to_be_read_each_hour(case, technician_user, settings):
    settings.FIRM_NAME = "Ash, Larch; Sons"
    text = Client().get(address_of(technician_user)).content

    calendar = parsed(text)
    says = {name: rows[0].value for name, rows in calendar.contents.items() if name != "vevent"}
    assert says.pop("uid")
    about = "What Tamsin Okafor is reminded of. It informs; it gives no legal advice. "
    about += "Local codes and licensed practice govern the work."
    assert says == {
        "version": "2.0",
        "prodid": "-//Refrigerant compliance portal//Calendar feed//EN",
        "calscale": "GREGORIAN",
        # RFC 7986, 5.1 and 5.2, and the names that older programs know.
        "name": "Refrigerant obligations, Ash, Larch; Sons",
        "x-wr-calname": "Refrigerant obligations, Ash, Larch; Sons",
        "description": about,
        "x-wr-caldesc": about,
        "refresh-interval": "PT1H",
    }
    # The parameter is required (RFC 7986, 5.7).
    assert b"\r\nREFRESH-INTERVAL;VALUE=DURATION:PT1H\r\n" in text
    # A snapshot, which schedules nothing (3.7.2) and rings by nobody's settings but the reader's (3.6.6).
    assert b"METHOD" not in text
    assert b"VALARM" not in text
