"""Filed rows stay as they are: the models refuse, and the database refuses whoever goes round them."""

from dataclasses import replace
from uuid import uuid4

import pytest
from django.apps import apps
from django.db import DatabaseError, connection, transaction
from django.utils import timezone

from compliance.models import ObligationAssignment, ReminderAcknowledgement, ReminderPlan
from compliance.services.case_filings import Document, case_filing_file
from compliance.services.method_changes import MethodChangeEntry, method_change_file
from compliance.services.method_corrections import MethodCorrectionEntry, method_correction_file
from jobs.errors import FiledRecordIsFixed
from jobs.models import ServiceEvent, Transfer
from jobs.models.filed import FiledModel
from jobs.models.fixed_tables import MESSAGE
from jobs.physics.pressures import STANDARD_ATMOSPHERE_PA
from jobs.services.calibrations import calibration_record
from jobs.services.full_charges import FullChargeBasis, determination_file
from jobs.services.log_entries import LogAnswers
from jobs.services.log_readings import log_entry
from jobs.services.pressure_checks import PressureReadings, pressure_check_file
from jobs.services.seals import chains_seal
from jobs.services.submission import InspectionEntry, LeakEntry, RepairEntry, StatementEntry, TestEntry
from tests.compliance.filings.acts import submission
from tests.factories import (
    HAPPENED_ON,
    ApplianceFactory,
    CylinderFactory,
    ScaleFactory,
    UserFactory,
    charged,
    file_event,
    supply_cylinder,
)
from tests.filed_tables import filed_tables
from tests.jobs.cylinder_acts import (
    decide_period,
    mark_mixed,
    move,
    receive,
    remove_heel,
    requalify,
    sell,
    weigh,
    withdraw,
)
from tests.jobs.test_transfer_refusals import ship
from tests.scale_logs import scale_log

pytestmark = pytest.mark.django_db

FILED_MODELS = [model for model in apps.get_models() if issubclass(model, FiledModel)]


@pytest.fixture
def _row_in_every_table():
    log = log_entry(
        name="scale.csv",
        content=scale_log(),
        answers=LogAnswers(),
        direction="in",
        division_mg=None,
        field="log",
    )
    file_event(
        transfers=(charged(supply_cylinder(), leak="new-1", log=log),),
        inspection=InspectionEntry("Bubbles"),
        leaks_found=(LeakEntry("new-1", "Coil", "Roof"),),
        repairs=(RepairEntry("new-1", "Brazed"),),
        tests=(TestEntry("new-1", "initial_verification_test", "Nitrogen", is_passed=True),),
        statements=(StatementEntry("normal_operation"),),
    )
    determination_file(ApplianceFactory(), FullChargeBasis(), by=UserFactory(), filed_at=timezone.now())
    pressure_check_file(
        by=UserFactory(),
        cylinder=CylinderFactory(),
        checked_on=HAPPENED_ON,
        refrigerant="R-134a",
        readings=PressureReadings("77 F", "82 psig", "1", "2", "0", STANDARD_ATMOSPHERE_PA),
        submission_id=uuid4(),
    )
    calibration_record(
        by=UserFactory(),
        instrument=ScaleFactory(),
        calibrated_on=HAPPENED_ON,
        certificate_number="K-1",
        calibrated_by="Weights Laboratory",
    )
    ObligationAssignment.objects.create(
        appliance=ApplianceFactory(),
        obligation_key="1:us-federal-hfc:repair:2026-03-02:1",
        assigned_by=UserFactory(),
        assigned_at=timezone.now(),
    )
    ReminderPlan.objects.create(
        kind="repair",
        effective_from=HAPPENED_ON,
        days_before=[7],
        daily_overdue_days=1,
        overdue_every_days=1,
        reason="Parts take a week.",
        decided_by=UserFactory(),
        decided_at=timezone.now(),
    )
    ReminderAcknowledgement.objects.create(
        owed_key="1:us-federal-hfc:repair:2026-03-02:1",
        due_on=HAPPENED_ON,
        milestone="on the day",
        recipient_email="contact@example.org",
        acknowledged_at=timezone.now(),
        way="link",
    )
    _file_a_filing()
    cylinder = supply_cylinder("25 lb")
    sell(cylinder, "1 lb")
    withdraw(weigh(cylinder, "52 lb"))
    move(cylinder, "away", firm_name="Harbor Gas")
    decide_period(cylinder, 7)
    requalify(cylinder)
    receive(ship(cylinder), "24 lb")
    mark_mixed(cylinder, "R-32")
    remove_heel(CylinderFactory(kind="disposable"))
    chains_seal(now=timezone.now())


def _file_a_filing():
    site = ApplianceFactory().site
    change = MethodChangeEntry(
        method="rolling_average",
        happened_on=HAPPENED_ON,
        acquired_on=HAPPENED_ON,
        acquired_from="Larkspur Holdings",
        is_owners_method=True,
        decided_by="Ida Larkspur",
    )
    method_change_file(by=UserFactory(), site=site, entry=change)
    topped_up = ApplianceFactory()
    file_event(topped_up, transfers=(charged(supply_cylinder("25 lb")),))
    method_correction_file(
        by=UserFactory(),
        site=topped_up.site,
        entry=MethodCorrectionEntry("rolling_average", "The wrong box", "Sheets of 2025", is_mistake=True),
    )
    document = Document("letter.pdf", "application/pdf", b"%PDF-1.7")
    filing = submission(ApplianceFactory(), "automatic_leak_detection", HAPPENED_ON.isoformat())
    case_filing_file(by=UserFactory(), submission=replace(filing, documents=(document,)))


def test_filed_tables_are_the_ones_that_records_consist_of():
    assert filed_tables() == [
        "compliance_obligationassignment",
        "compliance_reminderacknowledgement",
        "compliance_reminderplan",
        *(
            f"jobs_{name}"
            for name in (
                *("buyerproof", "calibration", "casefiling", "chainlink", "chainseal", "contamination"),
                "cylindermove",
                *("cylinderpressurecheck", "cylinderweighing", "documentfile", "filingattachment"),
                "fullchargedetermination",
                *("heelremoval", "leak", "leakfinding", "leakinspection", "leakratemethodchange"),
                *("leakratemethodcorrection", "repair"),
                "requalificationperiod",
                "requalificationtest",
                "sealedhead",
                *("serviceevent", "shipmentreceipt", "statement", "stockmovement", "transfer"),
                *("verificationtest", "weighlog", "weighlogfile", "withdrawal"),
            )
        ),
    ]


@pytest.mark.usefixtures("_row_in_every_table")
@pytest.mark.parametrize("model", FILED_MODELS)
@pytest.mark.parametrize("act", ["UPDATE {0} SET {1} = {1}", "DELETE FROM {0}"])
def test_database_refuses_to_change_a_filed_row(model, act):
    table, key = model._meta.db_table, model._meta.pk.column
    with connection.cursor() as cursor:
        cursor.execute(f"SELECT COUNT(*) FROM {table}")  # noqa: S608
        assert cursor.fetchone()[0] > 0

        with pytest.raises(DatabaseError, match=MESSAGE), transaction.atomic():
            cursor.execute(act.format(table, key))


@pytest.mark.skipif(connection.vendor != "postgresql", reason="SQLite has no TRUNCATE")
@pytest.mark.parametrize("table", [model._meta.db_table for model in FILED_MODELS])
def test_database_refuses_to_truncate_a_filed_table(table):
    with connection.cursor() as cursor, pytest.raises(DatabaseError, match=MESSAGE), transaction.atomic():
        cursor.execute(f"TRUNCATE {table} CASCADE")


@pytest.mark.usefixtures("_row_in_every_table")
@pytest.mark.parametrize("model", FILED_MODELS)
def test_model_refuses_to_change_a_filed_row(model):
    row = model.objects.first()

    for act in (row.save, row.delete, model.objects.all().delete, lambda: model.objects.update(id=1)):
        with pytest.raises(FiledRecordIsFixed):
            act()


@pytest.mark.usefixtures("_row_in_every_table")
def test_bulk_update_is_refused_too():
    row = Transfer.objects.first()

    with pytest.raises(FiledRecordIsFixed):
        Transfer.objects.bulk_update([row], ["mass_mg"])


# A transaction that has written is what tests leave behind when they commit; their clean-up must get through.
@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize("run", [1, 2])
def test_tests_that_commit_start_with_empty_and_guarded_tables(run):
    assert ServiceEvent.objects.count() == 0

    file_event(transfers=(charged(supply_cylinder()),))

    with connection.cursor() as cursor, pytest.raises(DatabaseError, match=MESSAGE):
        cursor.execute("DELETE FROM jobs_transfer")
