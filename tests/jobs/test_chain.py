"""Hash chains: every record stands in the chains it belongs to, and a changed one is named."""

import hashlib
import json
from decimal import Decimal

import pytest
from django.core.management import CommandError, call_command
from django.db import connection

from jobs.models import ChainLink, ServiceEvent
from jobs.services.chain import canonical_json
from jobs.services.submission import InspectionEntry, LeakEntry, StatementEntry
from jobs.services.verification import records_verify
from tests.factories import (
    ApplianceFactory,
    GaugeFactory,
    RecoveryMachineFactory,
    ScaleFactory,
    charged,
    file_event,
    supply_cylinder,
)
from tests.filed_tables import unfixed_tables
from tests.jobs.test_amendments import amend, filed, submission, void

pytestmark = pytest.mark.django_db


@pytest.fixture
def event():
    """The second of three events on one appliance, all from one cylinder, with a row of every kind."""
    appliance, cylinder = ApplianceFactory(), supply_cylinder("25 lb")
    file_event(appliance, transfers=(charged(cylinder, "1 lb"),))
    second = file_event(
        appliance,
        transfers=(charged(cylinder, "2 lb", leak="new-1"),),
        inspection=InspectionEntry("Bubbles"),
        leaks_found=(LeakEntry("new-1", "Coil", "Roof"),),
        statements=(
            StatementEntry("full_charge_change", {"full_charge_mg": 30_000_000, "method": "calculation"}),
        ),
    ).event
    file_event(appliance, transfers=(charged(cylinder, "3 lb"),))
    return second


def run(statement, *values):
    with unfixed_tables(), connection.cursor() as cursor:
        cursor.execute(statement, values)


def broken():
    return [(record.chain, record.record_kind, record.record_id) for record in records_verify()]


# RFC 8785 asks for sorted keys, no spaces and UTF-8; of its number rules only whole numbers are used.
def test_canonical_json_is_sorted_dense_and_utf8():
    assert canonical_json({"b": [1, None, True], "a": "Ω"}) == '{"a":"Ω","b":[1,null,true]}'.encode()


def test_record_is_linked_to_the_chains_of_its_appliance_and_its_cylinders(event):
    links = ChainLink.objects.filter(record_kind="service_event", record_id=event.pk)

    cylinder = event.transfers.get().from_holder.cylinder
    assert {(link.chain, link.sequence) for link in links} == {
        (f"appliance:{event.appliance_id}", 2),
        (f"cylinder:{cylinder.pk}", 3),
    }


def test_link_can_be_recomputed_from_the_records_json_alone(event):
    link = ChainLink.objects.get(chain=f"appliance:{event.appliance_id}", sequence=2)
    before = ChainLink.objects.get(chain=link.chain, sequence=1)
    document = {
        "chain": link.chain,
        "sequence": 2,
        "record_kind": "service_event",
        "record_id": event.pk,
        "previous_sha256": before.sha256,
        "record": json.loads(json.dumps(ServiceEvent.objects.get(pk=event.pk).canonical())),
    }

    text = json.dumps(document, sort_keys=True, separators=(",", ":"), ensure_ascii=False)

    assert link.sha256 == hashlib.sha256(text.encode()).hexdigest()
    assert (link.previous_sha256, before.previous_sha256) == (before.sha256, "")


def test_untouched_records_verify(event, capsys):
    visit = submission(event.appliance, work_done="Another.")
    void(amend(filed(visit), visit, work_done="Amended."))

    call_command("verify_records")

    assert "match" in capsys.readouterr().out
    assert broken() == []


@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE jobs_serviceevent SET work_done = 'Nothing.' WHERE id = %s",
        "UPDATE jobs_serviceevent SET happened_on = '2026-02-27' WHERE id = %s",
        "UPDATE jobs_serviceevent SET filed_at = '2026-02-27 00:00:00+00:00' WHERE id = %s",
        "UPDATE jobs_transfer SET mass_mg = mass_mg + 1 WHERE event_id = %s",
        "UPDATE jobs_transfer SET entered_value = '2.0' WHERE event_id = %s",
        "UPDATE jobs_transfer SET reason = 'retrofit' WHERE event_id = %s",
        "UPDATE jobs_leakfinding SET part = 'Valve' WHERE event_id = %s",
        "UPDATE jobs_leakinspection SET is_complete = (1 = 0) WHERE event_id = %s",
        """UPDATE jobs_statement SET details = '{"full_charge_mg": 30000001}' WHERE event_id = %s""",
        "DELETE FROM jobs_transfer WHERE event_id = %s",
        "DELETE FROM jobs_statement WHERE event_id = %s",
    ],
)
def test_changed_record_is_named_first_in_each_of_its_chains(event, statement):
    chains = ChainLink.objects.filter(record_kind="service_event", record_id=event.pk).order_by("chain")

    run(statement, event.pk)

    assert broken() == [(link.chain, "service_event", event.pk) for link in chains]


def test_command_names_the_record_and_exits_1(event, capsys):
    run("UPDATE jobs_transfer SET mass_mg = 1 WHERE event_id = %s", event.pk)

    with pytest.raises(CommandError) as caught:
        call_command("verify_records")

    assert caught.value.returncode == 1
    assert f"appliance:{event.appliance_id} no. 2: service event {event.pk}: it is not as it was filed" in (
        capsys.readouterr().out
    )


def test_changed_leak_number_is_named(event):
    run("UPDATE jobs_leak SET number = 7 WHERE id = %s", event.leak_findings.get().leak_id)

    assert (f"appliance:{event.appliance_id}", "service_event", event.pk) in broken()


def test_changed_movement_of_stock_is_named(event):
    movement = event.transfers.get().from_holder.cylinder.stock_movements.get()

    run("UPDATE jobs_stockmovement SET document_number = 'X' WHERE id = %s", movement.pk)

    assert broken() == [(f"cylinder:{movement.cylinder_id}", "stock_movement", movement.pk)]


@pytest.mark.parametrize(
    ("statement", "sequence"),
    [
        ("UPDATE jobs_chainlink SET sha256 = repeat_a WHERE chain = %s AND sequence = 2", 2),
        ("DELETE FROM jobs_chainlink WHERE chain = %s AND sequence = 2", 3),
        ("DELETE FROM jobs_chainlink WHERE chain = %s AND sequence = 1", 2),
    ],
)
def test_changed_or_missing_link_is_named(event, statement, sequence):
    chain = f"appliance:{event.appliance_id}"

    run(statement.replace("repeat_a", f"'{'a' * 64}'"), chain)

    first = next(record for record in records_verify() if record.chain == chain)
    assert first.sequence == sequence


def test_record_taken_out_of_the_end_of_its_chains_is_named(event):
    run("DELETE FROM jobs_chainlink WHERE record_kind = 'service_event' AND record_id > %s", event.pk)

    last = event.appliance.service_events.order_by("pk").last()
    cylinder = event.transfers.get().from_holder.cylinder
    assert set(broken()) == {
        (f"appliance:{event.appliance_id}", "service_event", last.pk),
        (f"cylinder:{cylinder.pk}", "service_event", last.pk),
    }


def test_record_that_names_no_instruments_has_the_content_of_one_filed_before_there_were_any(event):
    canonical = ServiceEvent.objects.get(pk=event.pk).canonical()

    added = {"opening_kind", "opening_note", "is_compressor_running", "recovery_machine_id", "gauge_id"}
    assert not added & canonical.keys()
    assert "scale" not in canonical["transfers"][0]


@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE jobs_serviceevent SET opening_kind = 'major' WHERE id = %s",
        "UPDATE jobs_serviceevent SET opening_note = '' WHERE id = %s",
        "UPDATE jobs_serviceevent SET is_compressor_running = NULL WHERE id = %s",
        "UPDATE jobs_serviceevent SET recovery_machine_id = NULL WHERE id = %s",
        "UPDATE jobs_serviceevent SET gauge_id = NULL WHERE id = %s",
        "UPDATE jobs_transfer SET scale_id = NULL WHERE event_id = %s",
    ],
)
def test_changed_instruments_are_named(statement):
    event = file_event(
        transfers=(charged(supply_cylinder(), scale=ScaleFactory()),),
        is_circuit_opened=True,
        opening_kind="leaking",
        opening_note="Header cracked.",
        is_compressor_running=False,
        final_vacuum=Decimal(0),
        final_vacuum_unit="psig",
        recovery_machine=RecoveryMachineFactory(),
        gauge=GaugeFactory(),
    ).event
    assert broken() == []

    run(statement, event.pk)

    assert (f"appliance:{event.appliance_id}", "service_event", event.pk) in broken()


def test_verifying_takes_no_more_queries_for_more_records(event, django_assert_max_num_queries):
    for number in range(5):
        file_event(event.appliance, work_done=f"Visit {number}.")

    with django_assert_max_num_queries(43):
        list(records_verify())
