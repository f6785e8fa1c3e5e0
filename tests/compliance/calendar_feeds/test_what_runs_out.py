"""A feed holds what runs out beside what is owed, each thing on its last day, as vobject reads it.

Numbers of sections are those of RFC 5545; recalled from memory.
"""

import datetime
import uuid

import pytest
from django.test import Client

from compliance.selectors.expiries import expiries
from compliance.selectors.expiring import expiring_to
from jobs.services.technicians import certification_change, technician_change
from tests.compliance.calendar_feeds.reading import NOW, SITE, address_of, event, events
from tests.compliance.firm import add_technician, day, over_the_threshold
from tests.compliance.running_out import apprentice, calibrate, calibrated_scale, certificate
from tests.factories import CylinderFactory
from tests.jobs.cylinder_acts import requalify

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("tenth_of_march")]


@pytest.fixture
def held(admin, technician_user):
    """A certificate of a technician who signs in, with its last day on 30 June 2026."""
    return certificate("2026-06-30", technician=add_technician(admin, technician_user))


def _days(user):
    return [(row.categories.value[0], row.dtstart.value) for row in events(user)]


def test_an_event_says_what_until_when_why_and_what_renews_it(held, officer):
    found = event(officer, "Certificate")
    (expiry,) = expiries(NOW.date())

    page = f"{SITE}/technicians/{held.technician_id}/"
    assert {name: rows[0].value for name, rows in found.contents.items()} == {
        "uid": str(uuid.uuid5(uuid.NAMESPACE_URL, f"{SITE}#obligation:{expiry.key}")),
        "dtstamp": NOW,
        "last-modified": NOW,
        "sequence": "0",
        "dtstart": day("2026-06-30"),
        "dtend": day("2026-07-01"),
        "summary": f"Certificate: EU A1 no. {held.number}, Tamsin Okafor",
        "description": "\n".join(
            [
                "Renew the certificate, or record its refresher.",
                "",
                f"What: EU A1 no. {held.number}",
                "Technician: Tamsin Okafor",
                "Last day: 2026-06-30",
                "",
                "Why",
                expiry.last_day.because,
                "Implementing Regulation (EU) 2024/2215 Art. 4(2)",
                "",
                "What settles it",
                "A refresher, a new last day or another certificate of the type, recorded on the technician’s page.",
                "",
                f"Its page: {page}",
                "",
                "It informs; it gives no legal advice. Local codes and licensed practice govern the work.",
            ]
        ),
        "categories": ["Certificate", "What runs out"],
        "url": page,
        "class": "PRIVATE",
        "transp": "TRANSPARENT",
    }
    # A date, not a midnight somewhere (3.3.4).
    assert found.dtstart.params == {"VALUE": ["DATE"]}


def test_every_kind_stands_on_its_last_day_among_what_is_owed(admin, chiller, officer):
    over_the_threshold(admin, chiller, "2026-03-02")
    owed = _days(officer)
    certificate("2026-03-31")
    apprentice("2024-04-20")
    calibrated_scale("2028-02-29")
    CylinderFactory(requalified_on=day("2021-04-20"))

    # The month stamped on a cylinder counts to its end, 5 years later (49 CFR 180.205(c), 180.209, from memory); an
    # apprentice's two years end on their day (40 CFR 82.161(a)).
    ending = [
        ("Certificate", day("2026-03-31")),
        ("Apprentice’s exemption", day("2026-04-20")),
        ("Cylinder requalification", day("2026-04-30")),
        ("Calibration", day("2028-02-29")),
    ]
    assert len(owed) >= 2
    assert sorted(_days(officer)) == sorted([*owed, *ending])
    assert [on for _, on in _days(officer)] == sorted(on for _, on in [*owed, *ending])


def test_it_holds_what_concerns_its_person_alone(held, admin, technician_user, officer):
    certificate("2026-08-31")
    calibrated_scale("2026-09-30")

    for user in (admin, officer):
        assert [name for name, _ in _days(user)] == ["Certificate", "Certificate", "Calibration"]
    assert _days(technician_user) == [("Certificate", day("2026-06-30"))]


def test_only_who_may_file_it_is_led_to_the_form_and_everybody_may_open_the_page(
    held, admin, technician_user
):
    form = f"/certifications/{held.pk}/renew/"
    for user, line in ((admin, f"Record what renews it: {SITE}{form}"), (technician_user, "")):
        found = event(user, "Certificate")
        assert line in found.description.value
        assert (form in found.description.value) is bool(line)
        client = Client()
        client.force_login(user)
        assert client.get(found.url.value.removeprefix(SITE)).status_code == 200
        assert client.get(form).status_code == (200 if line else 403)


def test_a_cylinder_says_where_it_is_and_an_instrument_is_nowhere(officer):
    CylinderFactory(requalified_on=day("2021-04-20"), place_note="Van 3; upper rack")
    calibrated_scale("2026-09-30")

    assert event(officer, "Cylinder requalification").location.value == "Van 3; upper rack"
    assert "location" not in event(officer, "Calibration").contents


@pytest.mark.parametrize(
    ("at", "has_run_out"),
    [
        # Midnight after 30 June at the firm, five hours behind UTC in summer.
        ("2026-07-01T04:59", False),
        ("2026-07-01T05:01", True),
    ],
)
def test_the_last_day_ends_with_the_firms_own_date(held, officer, time_machine, at, has_run_out):
    first = event(officer, "Certificate")
    time_machine.move_to(datetime.datetime.fromisoformat(f"{at}+00:00"), tick=False)

    found = event(officer, "Certificate")

    assert found.uid.value == first.uid.value
    assert found.dtstart.value == day("2026-06-30")
    assert found.summary.value.startswith("Ran out: Certificate: ") is has_run_out


def _renew_certificate(admin, row):
    certification_change(
        by=admin, certification=row, refreshed_on=day("2026-03-09"), expires_on=day("2033-03-08")
    )


def _end_certificate(admin, row):
    certification_change(by=admin, certification=row, ended_on=day("2026-03-09"), ended_because="Given back")


def _test_cylinder(admin, row):
    requalify(row, happened_on=day("2026-03-09"), filed_at=NOW)


def _calibrate_scale(admin, row):
    calibrate(row, "2026-03-09", due_on=day("2027-03-08"))


@pytest.mark.parametrize(
    ("make", "settle", "comes_on"),
    [
        (lambda: certificate("2026-06-30"), _renew_certificate, "2033-03-08"),
        (lambda: certificate("2026-06-30"), _end_certificate, None),
        (lambda: CylinderFactory(requalified_on=day("2021-04-20")), _test_cylinder, "2031-03-31"),
        (lambda: calibrated_scale("2026-06-30"), _calibrate_scale, "2027-03-08"),
    ],
    ids=["renewed certificate", "ended certificate", "tested cylinder", "calibrated scale"],
)
def test_what_is_renewed_leaves_and_comes_as_another_event_on_its_new_last_day(
    admin, officer, make, settle, comes_on
):
    row = make()
    (before,) = events(officer)

    settle(admin, row)

    after = events(officer)
    assert before.uid.value not in [found.uid.value for found in after]
    assert [found.dtstart.value for found in after] == ([day(comes_on)] if comes_on else [])
    # Nothing is called off: it is done.
    assert not any("status" in found.contents for found in after)


def test_another_word_is_newer_but_the_same_event(held, officer, admin, time_machine):
    before = event(officer, "Certificate")
    later = NOW + datetime.timedelta(hours=2)
    time_machine.move_to(later, tick=False)
    technician_change(by=admin, technician=held.technician, full_name="Tamsin Okafor-Reyes")

    after = event(officer, "Certificate")

    assert (after.uid.value, after.sequence.value) == (before.uid.value, "0")
    assert (before.last_modified.value, after.last_modified.value) == (NOW, later)
    assert "Tamsin Okafor-Reyes" in after.summary.value


def test_many_take_the_queries_of_one(held, officer, django_assert_num_queries):
    address, client = address_of(officer), Client()
    client.get(address)
    # Those of a feed of obligations, and one for each kind that runs out.
    with django_assert_num_queries(13):
        client.get(address)
    for number in range(4):
        certificate("2026-08-31")
        calibrated_scale("2026-09-30", serial_number=f"B-{number}")
        CylinderFactory(requalified_on=day("2021-04-20"))
    client.get(address)
    with django_assert_num_queries(13):
        client.get(address)


def test_the_page_counts_them(client, held, technician_user):
    client.force_login(technician_user)

    assert len(expiring_to(technician_user, NOW)) == 1
    assert "It holds 1 entry now." in client.get("/reminders/mine/").text
