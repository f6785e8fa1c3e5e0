"""What a visit is refused for besides its transfers: days, people, vacuum, owner, leaks, statements."""

import datetime
from decimal import Decimal

import pytest

from jobs.models import CertificationType, ServiceEvent, StatementKind
from jobs.services.submission import InspectionEntry, LeakEntry, RepairEntry, StatementEntry, TestEntry
from tests.factories import (
    HAPPENED_ON,
    INSTALLED_ON,
    ApplianceFactory,
    CertificationFactory,
    SiteFactory,
    TechnicianFactory,
    charged,
    file_event,
)
from tests.jobs.refused import refused

pytestmark = pytest.mark.django_db

INSPECTION = InspectionEntry("Electronic detector")
FOUND = {"inspection": INSPECTION, "leaks_found": (LeakEntry("new-1", "Flare fitting", "Condenser"),)}


def day(text):
    return datetime.date.fromisoformat(text)


def instant(text):
    return datetime.datetime.fromisoformat(text)


# The site's calendar day counts. Chicago is UTC-6 in winter, and UTC-5 from 8 March 2026 (IANA time zone database).
@pytest.mark.parametrize(
    ("filed_at", "today"),
    [
        ("2026-03-03T05:59:59+00:00", "2026-03-02"),
        ("2026-03-03T06:00:00+00:00", "2026-03-03"),
        ("2026-03-09T04:59:59+00:00", "2026-03-08"),
        ("2026-03-09T05:00:00+00:00", "2026-03-09"),
        ("2024-03-01T05:59:59+00:00", "2024-02-29"),
    ],
)
def test_visit_is_refused_when_it_is_tomorrow_at_the_site(filed_at, today):
    appliance = ApplianceFactory(site__time_zone="America/Chicago")
    tomorrow = day(today) + datetime.timedelta(days=1)

    refusals = refused(file_event, appliance, happened_on=tomorrow, filed_at=instant(filed_at))

    assert refusals.keys() == {"happened_on"}
    assert refusals["happened_on"].value == tomorrow
    assert not file_event(appliance, happened_on=day(today), filed_at=instant(filed_at)).was_already_filed


def test_visit_is_refused_before_the_appliance_was_installed():
    eve = INSTALLED_ON - datetime.timedelta(days=1)

    assert refused(file_event, happened_on=eve).keys() == {"happened_on"}
    assert file_event(happened_on=INSTALLED_ON).event.pk


@pytest.mark.parametrize(
    ("fields", "names"),
    [
        ({"technician": None}, {"technician"}),
        ({"work_done": "  "}, {"work_done"}),
        ({"work_kinds": ("sightseeing",)}, {"work_kinds"}),
        ({"origin": "hearsay", "technician": None, "contractor_name": "X"}, {"origin"}),
        ({"origin": "other_contractor", "technician": None}, {"contractor_name"}),
        ({"origin": "former_records", "technician": None}, {"contractor_name"}),
        ({"is_circuit_opened": True}, {"opening_kind", "final_vacuum"}),
        ({"final_vacuum": Decimal(400)}, {"final_vacuum_unit"}),
        ({"final_vacuum": Decimal(-1), "final_vacuum_unit": "micron"}, {"final_vacuum"}),
        ({"final_vacuum": Decimal("0.0001"), "final_vacuum_unit": "kPa_abs"}, {"final_vacuum"}),
        ({"final_vacuum": Decimal("NaN"), "final_vacuum_unit": "kPa_abs"}, {"final_vacuum"}),
        ({"owner_decision": "declined"}, {"owner_told_on", "owner_told_name"}),
        ({"owner_told_on": HAPPENED_ON}, {"owner_told_name"}),
        ({"owner_told_on": day("2019-04-30"), "owner_told_name": "A. Moss"}, {"owner_told_on"}),
        ({"owner_told_name": "Ms L", "owner_told_on": datetime.date(2026, 3, 3)}, {"owner_told_on"}),
        ({"signature_svg_path": "M 1,2<script>"}, {"signature_svg_path"}),
        ({"leaks_found": (LeakEntry("new-1", "Coil", "Roof"),)}, {"inspection"}),
        ({"inspection": InspectionEntry("")}, {"inspection_methods"}),
        ({**FOUND, "leaks_found": (LeakEntry("new-1", "", ""),)}, {"leaks-0-part", "leaks-0-location"}),
        (
            {**FOUND, "leaks_found": 2 * (LeakEntry("new-1", "Coil", "Roof"),)},
            {"leaks-0-part", "leaks-1-part"},
        ),
        ({**FOUND, "repairs": (RepairEntry("new-2", "Brazed"),)}, {"repairs-0-leak"}),
        ({**FOUND, "repairs": (RepairEntry("new-1", ""),)}, {"repairs-0-work_done"}),
        ({"tests": (TestEntry("new-1", "initial_verification_test", "Nitrogen", True),)}, {"tests-0-leak"}),
        ({**FOUND, "tests": (TestEntry("new-1", "third_test", "Nitrogen", True),)}, {"tests-0-kind"}),
        ({"statements": (StatementEntry("relocated"),)}, {"statements-0-kind"}),
        ({"statements": (StatementEntry("full_charge_change"),)}, {"statements-0-full_charge"}),
        (
            {"statements": (StatementEntry("full_charge_change", {"full_charge_mg": 0}),)},
            {"statements-0-full_charge"},
        ),
        (
            {"statements": (StatementEntry("retrofitted", {"refrigerant": "R-0"}),)},
            {"statements-0-full_charge", "statements-0-refrigerant"},
        ),
        (
            {"statements": (StatementEntry("mothballed"), StatementEntry("retrofit_or_retirement_plan"))},
            {"statements-0-kind", "statements-1-kind"},
        ),
        ({"statements": (StatementEntry("retired", {"note": 1.5}),)}, {"statements-0-note"}),
    ],
)
def test_visit_is_refused_at_the_fields_that_are_wrong(fields, names):
    assert refused(file_event, **fields).keys() == names
    assert ServiceEvent.objects.count() == 0


def test_visit_is_refused_for_everything_at_once():
    refusals = refused(
        file_event,
        happened_on=datetime.date(2030, 1, 1),
        technician=None,
        work_done="",
        is_circuit_opened=True,
        transfers=(charged(None, "0 lb"),),
        repairs=(RepairEntry("new-9", "Brazed"),),
    )

    assert refusals.keys() == {
        "happened_on", "technician", "work_done", "opening_kind", "final_vacuum", "transfers-0-mass", "repairs-0-leak",
    }  # fmt: skip


@pytest.mark.parametrize("origin", ["other_contractor", "former_records"])
def test_others_may_have_opened_the_circuit_without_a_vacuum_on_record(origin):
    filing = file_event(origin=origin, contractor_name="Drayton", technician=None, is_circuit_opened=True)

    assert filing.event.final_vacuum is None


def test_vacuum_is_asked_for_with_its_paragraph_where_that_is_law():
    chicago = refused(file_event, is_circuit_opened=True)
    leeds = refused(file_event, ApplianceFactory(site=SiteFactory(jurisdiction="uk")), is_circuit_opened=True)

    # "Verify the level before opening" (40 CFR 82.156(a)).
    assert chicago["final_vacuum"].citation == "40 CFR 82.156(a)"
    assert leeds["final_vacuum"].citation == ""


# 40 CFR 82.161: R-410A and R-22 are high-pressure, R-123 is low-pressure (82.152); a hermetically sealed appliance of
# at most 5 lb is a small appliance, which Type II alone does not cover.
@pytest.mark.parametrize(
    ("kind", "fields", "is_covered"),
    [
        (CertificationType.TYPE_II, {"refrigerant": "R-410A"}, True),
        (CertificationType.TYPE_II, {"refrigerant": "R-123"}, False),
        (CertificationType.TYPE_III, {"refrigerant": "R-123"}, True),
        (CertificationType.TYPE_III, {"refrigerant": "R-22"}, False),
        (CertificationType.TYPE_I, {"refrigerant": "R-410A"}, False),
        (CertificationType.TYPE_I, {"is_hermetically_sealed": True, "full_charge": "5 lb"}, True),
        (CertificationType.TYPE_II, {"is_hermetically_sealed": True, "full_charge": "5 lb"}, False),
        (CertificationType.TYPE_II, {"is_hermetically_sealed": True, "full_charge": "5.01 lb"}, True),
        (CertificationType.UNIVERSAL, {"refrigerant": "R-123"}, True),
        (False, {}, False),
    ],
)
def test_technician_needs_a_certificate_that_covers_the_appliance(kind, fields, is_covered):
    appliance, technician = ApplianceFactory(**fields), TechnicianFactory(certified=kind)

    if is_covered:
        event = file_event(appliance, technician=technician).event
        assert event.certification == technician.certifications.get()
    else:
        refusals = refused(file_event, appliance, technician=technician)
        assert refusals.keys() == {"technician"}
        assert refusals["technician"].citation.startswith("40 CFR 82.161")


@pytest.mark.parametrize(("issued_on", "is_held"), [("2026-03-02", True), ("2026-03-03", False)])
def test_certificate_counts_from_its_day_of_issue(issued_on, is_held):
    technician = TechnicianFactory(certified=False)
    CertificationFactory(technician=technician, issued_on=day(issued_on))

    if is_held:
        assert file_event(technician=technician).event.pk
    else:
        assert issued_on in refused(file_event, technician=technician)["technician"].expected


# 40 CFR 82.161(a): an apprentice is exempt for two years from first registration, under a certified technician.
@pytest.mark.parametrize(
    ("registered_on", "is_exempt"),
    [("2024-03-02", True), ("2024-03-01", False), ("2026-03-02", True), ("2026-03-03", False)],
)
def test_apprentice_is_exempt_for_two_years(registered_on, is_exempt):
    apprentice = TechnicianFactory(
        certified=False, is_apprentice=True, apprentice_registered_on=day(registered_on)
    )
    supervisor = TechnicianFactory()

    if is_exempt:
        event = file_event(technician=apprentice, supervisor=supervisor).event
        assert event.certification == supervisor.certifications.get()
    else:
        assert refused(file_event, technician=apprentice, supervisor=supervisor).keys() == {"technician"}


@pytest.mark.parametrize("supervisor", ["none", "self", "uncertified"])
def test_apprentice_needs_a_certified_supervisor(supervisor):
    apprentice = TechnicianFactory(
        certified=False, is_apprentice=True, apprentice_registered_on=datetime.date(2025, 6, 1)
    )
    people = {"none": None, "self": apprentice, "uncertified": TechnicianFactory(certified=False)}

    refusals = refused(file_event, technician=apprentice, supervisor=people[supervisor])

    assert refusals.keys() == {"supervisor"}


def test_apprentice_who_was_certified_since_works_alone():
    technician = TechnicianFactory(is_apprentice=True, apprentice_registered_on=datetime.date(2020, 1, 1))

    assert file_event(technician=technician).event.certification == technician.certifications.get()


@pytest.mark.parametrize(("ended_on", "covers"), [("2026-03-03", True), ("2026-03-02", False)])
def test_a_certificate_covers_no_visit_from_the_day_on_which_it_ended(ended_on, covers):
    technician = TechnicianFactory()
    technician.certifications.update(ended_on=day(ended_on), ended_because="Revoked by its issuer")

    if covers:
        assert file_event(technician=technician).event.certification == technician.certifications.get()
    else:
        assert (
            "counts no more from 2026-03-02 on"
            in refused(file_event, technician=technician)["technician"].expected
        )


def test_a_certificate_of_another_country_covers_nothing_in_the_united_states():
    technician = TechnicianFactory(certified="eu_a1")

    refusal = refused(file_event, technician=technician)["technician"]

    assert "EU certificate A1 does not cover" in refusal.expected


@pytest.mark.parametrize("row", ["repairs", "tests", "transfers", "leaks_found"])
def test_leak_of_another_appliance_is_refused(row):
    leak = file_event(**FOUND).event.leak_findings.get().leak
    fields = {
        "repairs": {"repairs": (RepairEntry(leak, "Brazed"),)},
        "tests": {"tests": (TestEntry(leak, "initial_verification_test", "Nitrogen", is_passed=True),)},
        "transfers": {
            "origin": "other_contractor",
            "contractor_name": "Drayton",
            "technician": None,
            "transfers": (charged(None, leak=leak),),
        },
        "leaks_found": {"inspection": INSPECTION, "leaks_found": (LeakEntry("new-1", "Coil", "Roof", leak),)},
    }

    refusals = refused(file_event, ApplianceFactory(), **fields[row])

    assert refusals.keys() == {f"{row.removesuffix('_found')}-0-leak"}


def test_leak_on_record_is_found_again_under_its_number():
    appliance = ApplianceFactory()
    leak = file_event(appliance, **FOUND).event.leak_findings.get().leak

    found = (LeakEntry("new-1", "Flare fitting", "Condenser, south side", leak),)
    again = file_event(appliance, inspection=INSPECTION, leaks_found=found).event

    assert again.leak_findings.get().leak == leak
    assert appliance.leaks.count() == 1


def test_retrofit_states_the_charge_that_later_visits_are_held_against():
    appliance = ApplianceFactory(refrigerant="R-22")
    new_charge = {"refrigerant": "R407C", "full_charge_mg": 27_000_000}
    others = {"origin": "other_contractor", "contractor_name": "Drayton", "technician": None}
    file_event(
        appliance,
        statements=(StatementEntry(StatementKind.RETROFITTED, new_charge),),
        transfers=(charged(None, "59 lb", refrigerant="R-407C", reason="retrofit"),),
        **others,
    )
    later = {
        "happened_on": datetime.date(2026, 3, 2),
        "transfers": (charged(None, "1 lb", refrigerant="R-22"),),
    }

    refusals = refused(file_event, appliance, **later, **others)

    assert "R-407C" in refusals["transfers-0-refrigerant"].expected
    assert file_event(
        appliance, transfers=(charged(None, "1 lb"),), **others
    ).event.transfers.get().refrigerant == ("R-407C")
