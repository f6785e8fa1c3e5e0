"""Who is reminded of what and when: once for each milestone, person and channel, never of what is settled."""

import datetime
import zoneinfo

import pytest

from compliance.models import Obligation, Reminder
from compliance.services.reminders import reminders_raise
from jobs.services.events import service_event_void
from portal.accounts.models import User
from tests.compliance.firm import (
    AGREED,
    INITIAL,
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


@pytest.fixture
def case(admin, technician_user, officer):
    """An exceedance of 2 March 2026: repair and initial test due on 1 April (40 CFR 84.106(d), (e)(1))."""
    customer = add_customer(admin, contact_name="Ida Larkspur", email="Ida@larkspur.example", **AGREED)
    technician = add_technician(admin, technician_user)
    appliance = add_appliance(admin, site=add_site(admin, customer), technician=technician)
    over_the_threshold(admin, appliance, "2026-03-02")
    return appliance


def _raise(on, hour=12):
    return reminders_raise(now=datetime.datetime.combine(day(on), datetime.time(hour), CHICAGO))


def _rows(**wanted):
    return Reminder.objects.filter(owed_key__contains=":repair:", **wanted)


def _whom(channel):
    return sorted(_rows(channel=channel).values_list("recipient_email", flat=True))


def test_technician_officer_and_customer_are_reminded_each_in_their_way(case, technician_user, officer):
    _raise("2026-03-18")

    people = sorted([technician_user.email, officer.email])
    assert _whom("email") == sorted([*people, "ida@larkspur.example"])
    assert _whom("portal") == people


def test_only_a_customer_who_agreed_is_written_to(case):
    case.site.customer.is_reminded = False
    case.site.customer.save()

    _raise("2026-03-18")

    assert "ida@larkspur.example" not in _whom("email")


def test_people_who_left_are_not_reminded(case, technician_user, officer):
    User.objects.filter(pk__in=[technician_user.pk, officer.pk]).update(is_active=False)

    _raise("2026-03-18")

    assert _whom("email") == ["ida@larkspur.example"]


def test_one_address_gets_one_reminder(case, officer):
    case.site.customer.email = officer.email.upper()
    case.site.customer.save()

    _raise("2026-03-18")

    assert _rows(recipient_email=officer.email, channel="email").get().user == officer


def test_nothing_is_raised_before_the_first_milestone(case):
    assert _raise("2026-03-17") == 0
    # Two obligations; three people by e-mail, two of them in the portal too.
    assert _raise("2026-03-18") == 10


@pytest.mark.parametrize("repeats", [1, 3])
def test_raising_again_raises_nothing_twice(case, repeats):
    first = _raise("2026-03-18")

    assert [_raise("2026-03-18", hour=13 + number) for number in range(repeats)] == [0] * repeats
    assert Reminder.objects.count() == first


def test_each_milestone_is_raised_once_over_the_whole_run(case, officer):
    for offset in range(60):
        _raise((day("2026-03-10") + datetime.timedelta(days=offset)).isoformat())

    rows = _rows(channel="portal", user=officer, is_escalation=False)
    names = list(rows.values_list("milestone", flat=True))
    overdue = [f"{days} days overdue" for days in (*range(2, 15), 21, 28, 35)]
    before = ["14 days before", "7 days before", "3 days before", "1 day before", "on the day"]
    assert sorted(names) == sorted([*before, "1 day overdue", *overdue])


def test_a_portal_that_stood_still_makes_up_with_the_newest_milestone_alone(case):
    _raise("2026-03-31")

    assert set(_rows().values_list("milestone", flat=True)) == {"1 day before"}


def test_the_date_at_the_site_decides(admin, officer):
    site = add_site(admin, add_customer(admin), "Harbour", time_zone="Pacific/Honolulu")
    over_the_threshold(admin, add_appliance(admin, site=site), "2026-03-02")

    # 02:00 UTC on 18 March is 16:00 on 17 March in Honolulu: 15 days before.
    assert reminders_raise(now=datetime.datetime(2026, 3, 18, 2, tzinfo=datetime.UTC)) == 0
    assert reminders_raise(now=datetime.datetime(2026, 3, 18, 11, tzinfo=datetime.UTC)) > 0


def test_the_date_at_the_site_decides_in_the_night_when_clocks_go_forward(admin, officer, chiller):
    over_the_threshold(
        admin, chiller, "2026-02-20"
    )  # due on 22 March; 14 days before is 8 March, the short day

    late_evening = datetime.datetime(2026, 3, 7, 23, 59, tzinfo=CHICAGO)
    assert reminders_raise(now=late_evening) == 0
    assert reminders_raise(now=late_evening + datetime.timedelta(minutes=2)) > 0


def test_what_is_met_is_not_reminded_of(admin, case):
    file(admin, case, "2026-03-10", repaired=[leak(case)], passed=[(INITIAL, leak(case))])

    _raise("2026-03-18")

    assert not Reminder.objects.exclude(owed_key__contains="follow_up").exists()


def test_the_keeping_of_records_is_never_reminded_of(admin, officer, chiller):
    file(admin, chiller, "2026-03-02", added=[("1", None)])
    retention = chiller.obligations.get(kind="record_retention")

    reminders_raise(now=noon(retention.due_on))

    assert not Reminder.objects.exists()


def test_meeting_an_obligation_drops_what_nobody_has_got(admin, case):
    _raise("2026-03-18")

    file(admin, case, "2026-03-19", repaired=[leak(case)])

    assert set(_rows().values_list("state", flat=True)) == {"dropped"}
    still = Reminder.objects.filter(owed_key__contains=":initial_verification_test:")
    assert set(still.values_list("state", flat=True)) == {"waiting", "sent"}


def test_what_was_sent_or_read_stays_as_it_was(admin, case):
    _raise("2026-03-18")
    _rows(channel="email").update(state="sent")
    _rows(channel="portal").update(read_at=noon(day("2026-03-18")))

    file(admin, case, "2026-03-19", repaired=[leak(case)])

    assert set(_rows().values_list("state", flat=True)) == {"sent"}


def test_a_record_that_is_voided_takes_its_reminders_along(admin, case):
    _raise("2026-03-18")

    event = case.service_events.get()
    service_event_void(by=admin, event=event, reason="Another appliance", filed_at=noon(day("2026-03-19")))

    assert set(Reminder.objects.values_list("state", flat=True)) == {"dropped"}
    assert _raise("2026-03-19") == 0


def test_an_obligation_that_is_open_again_is_reminded_of_again(admin, case):
    _raise("2026-03-18")
    file(admin, case, "2026-03-19", repaired=[leak(case)])
    file(admin, case, "2026-03-20", failed=[(INITIAL, leak(case))])

    _raise("2026-03-20")

    assert set(_rows().values_list("state", flat=True)) == {"waiting", "sent"}
    assert _rows().filter(channel="email").first().raised_at.date() == day("2026-03-20")


def test_a_newer_reminder_takes_the_place_of_one_that_nobody_got(case):
    _raise("2026-03-18")
    _raise("2026-03-25")

    states = set(_rows(channel="email").values_list("milestone", "state"))
    # Nobody acknowledged the first one in the portal either.
    escalated = ("unacknowledged, 14 days before", "waiting")
    assert states == {("14 days before", "dropped"), ("7 days before", "waiting"), escalated}


def test_the_letter_says_what_is_owed_until_when_why_and_where(case, technician_user):
    _raise("2026-03-18")

    row = _rows(channel="email", user=technician_user).get()
    repair = Obligation.objects.get(kind="repair")
    assert row.subject == "Leak repair due in 14 days: Chiller 1, North store, Larkspur Grocers"
    for text in (
        "Leak repair: due in 14 days (2026-04-01)",
        repair.because,
        "40 CFR 84.106(d)",
        f"http://127.0.0.1:8000/appliances/{case.pk}/events/add/?settles=repair",
        f"http://127.0.0.1:8000/obligations/{repair.pk}/",
        "gives no legal advice",
    ):
        assert text in row.body
        assert text.replace("&", "&amp;") in row.body_html or text.startswith("Leak repair")


def test_the_officer_who_files_nothing_is_led_to_the_case(case, officer):
    _raise("2026-03-18")

    row = _rows(channel="email", user=officer).get()
    assert "/events/add/" not in row.body + row.body_html
    assert f"/obligations/{Obligation.objects.get(kind='repair').pk}/" in row.body


def test_what_a_filing_settles_leads_the_officer_to_its_form(case, officer, technician_user):
    Obligation.objects.filter(kind="repair").update(kind="chronic_leak_report")
    _raise("2026-03-18")

    report = Obligation.objects.get(kind="chronic_leak_report")
    rows = _rows(owed_key=report.key, channel="email")
    form = f"/appliances/{case.pk}/filings/chronic-leak-report-filed/add/?obligation={report.pk}"
    officers, technicians = rows.get(user=officer), rows.get(user=technician_user)
    assert f"File what settles this: http://127.0.0.1:8000{form}" in officers.body
    assert form in officers.body_html
    assert "/add/" not in technicians.body + technicians.body_html


def test_a_customer_who_has_no_sign_in_gets_no_link_but_the_one_that_acknowledges(case):
    _raise("2026-03-18")

    row = _rows(recipient_email="ida@larkspur.example").get()
    assert row.body.count("http") == row.body.count("/reminders/acknowledge/") == 1
    assert row.body_html.count("href") == row.body_html.count("/reminders/acknowledge/") == 1
    assert row.user is None


def test_names_that_look_like_markup_stay_text(admin, officer):
    customer = add_customer(admin, "Stone & <b>Sons</b>")
    over_the_threshold(admin, add_appliance(admin, site=add_site(admin, customer)), "2026-03-02")

    _raise("2026-03-18")

    row = _rows(channel="email").get()
    assert "Stone & <b>Sons</b>" in row.body
    assert "Stone &amp; &lt;b&gt;Sons&lt;/b&gt;" in row.body_html


def test_a_date_that_rests_on_memory_says_so(admin, officer, chiller):
    """The definition of seasonal variance, 40 CFR 84.102, wasn't read: the message says so and names it."""
    file(admin, chiller, "2026-01-10", removed=[("10", None)], reason="seasonal_variance")
    file(admin, chiller, "2026-02-10", added=[("10", None)], reason="seasonal_variance")
    over_the_threshold(admin, chiller, "2026-03-02")

    _raise("2026-03-18")

    body = _rows(channel="email", user=officer).get().body
    assert "unconfirmed source" in body
    assert "From memory, not confirmed: 40 CFR 84.102 (seasonal variance period)." in body


def test_many_obligations_take_a_fixed_number_of_queries(admin, officer, django_assert_num_queries):
    for number in range(5):
        over_the_threshold(admin, add_appliance(admin, f"Chiller {number}"), "2026-03-02")
    _raise("2026-03-18")

    with django_assert_num_queries(15):
        assert _raise("2026-03-18", hour=15) == 0
