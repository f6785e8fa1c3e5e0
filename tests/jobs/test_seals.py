"""Seals over the hash chains: what was taken off a chain's end, or put in its place, is named."""

import datetime
import hashlib
import json

import pytest
from django.core.management import CommandError, call_command
from django.db import connection

from jobs.models import ChainLink, ChainSeal, SealedHead
from jobs.services.chain import canonical_forms, link_sha256
from jobs.services.seal_verification import seals_verify
from jobs.services.seals import chains_seal, chains_seal_tonight
from jobs.services.verification import records_verify
from tests.factories import ApplianceFactory, charged, file_event, supply_cylinder
from tests.filed_tables import filed_tables
from tests.jobs.test_chain import run

pytestmark = pytest.mark.django_db

NIGHT = datetime.datetime(2026, 3, 3, 10, 35, tzinfo=datetime.UTC)
DAY = datetime.timedelta(days=1)


@pytest.fixture
def appliance():
    """Three visits stand in its chain, and no cylinder in any."""
    appliance = ApplianceFactory()
    for number in range(3):
        file_event(appliance, work_done=f"Visit {number}.")
    return appliance


def _said():
    return [str(found) for found in seals_verify()]


def _fell(appliance, because):
    return f"appliance:{appliance.pk} no. 3, held by seal 1 of 2026-03-03 10:35 UTC: {because}"


def _heads(seal):
    return sorted(seal.heads.values_list("chain", "sequence"))


def _chain(appliance):
    return ChainLink.objects.filter(chain=f"appliance:{appliance.pk}").order_by("sequence")


def _cut_off(appliance, after):
    """Take away all that follows a link, records and links, as someone with full rights on the database could."""
    gone = list(_chain(appliance).filter(sequence__gt=after).values_list("pk", "record_id"))
    for link, event in gone:
        for table in filed_tables():
            columns = {column.name for column in _columns(table)}
            if "event_id" in columns:
                run(f"DELETE FROM {table} WHERE event_id = %s", event)  # noqa: S608
        run("DELETE FROM jobs_chainlink WHERE id = %s", link)
        run("DELETE FROM jobs_serviceevent WHERE id = %s", event)


def _columns(table):
    with connection.cursor() as cursor:
        return connection.introspection.get_table_description(cursor, table)


# --- Sealing ---------------------------------------------------------------------------------


def test_a_seal_holds_the_last_link_of_every_chain(appliance):
    cylinder = supply_cylinder("25 lb")
    other = file_event(transfers=(charged(cylinder, "2 lb"),)).event.appliance

    seal = chains_seal(now=NIGHT)

    assert (seal.number, seal.previous_sha256, seal.chain_count, seal.link_count) == (1, "", 3, 6)
    assert _heads(seal) == sorted(
        [(f"appliance:{appliance.pk}", 3), (f"appliance:{other.pk}", 1), (f"cylinder:{cylinder.pk}", 2)]
    )
    assert {head.sha256 for head in seal.heads.all()} <= set(
        ChainLink.objects.values_list("sha256", flat=True)
    )


def test_the_next_seal_keeps_only_what_has_changed(appliance):
    other = file_event().event.appliance
    first = chains_seal(now=NIGHT)
    file_event(appliance)

    second, third = chains_seal(now=NIGHT + DAY), chains_seal(now=NIGHT + 2 * DAY)

    assert (second.number, second.previous_sha256) == (2, first.sha256)
    assert (second.chain_count, second.link_count) == (2, 5)
    assert _heads(second) == [(f"appliance:{appliance.pk}", 4)]
    assert (third.number, third.previous_sha256, _heads(third)) == (3, second.sha256, [])
    assert _said() == []
    assert SealedHead.objects.filter(chain=f"appliance:{other.pk}").count() == 1


def test_a_seal_can_be_recomputed_from_its_rows_alone(appliance):
    file_event()
    chains_seal(now=NIGHT)
    seal = ChainSeal.objects.get()

    def sha256_of(document):
        text = json.dumps(document, sort_keys=True, separators=(",", ":"), ensure_ascii=False)
        return hashlib.sha256(text.encode()).hexdigest()

    heads = sorted([head.chain, head.sequence, head.sha256] for head in seal.heads.all())
    assert seal.heads_sha256 == sha256_of(heads)
    assert seal.sha256 == sha256_of(
        {
            "number": 1,
            "sealed_at": "2026-03-03T10:35:00+00:00",
            "previous_sha256": "",
            "chain_count": 2,
            "link_count": 4,
            "heads_sha256": sha256_of(heads),
        }
    )


def test_a_firm_without_records_is_sealed_too():
    seal = chains_seal(now=NIGHT)

    assert (seal.chain_count, seal.link_count, _heads(seal), _said()) == (0, 0, [], [])


def test_the_same_night_is_sealed_once(appliance):
    # 4:35 and a quarter of an hour before midnight in Chicago, and 5 minutes past midnight.
    first = chains_seal_tonight(now=NIGHT)
    file_event(appliance)
    again = chains_seal_tonight(now=datetime.datetime(2026, 3, 4, 5, 45, tzinfo=datetime.UTC))
    next_night = chains_seal_tonight(now=datetime.datetime(2026, 3, 4, 6, 5, tzinfo=datetime.UTC))

    assert (again, next_night.number) == (first, 2)
    assert ChainSeal.objects.count() == 2


def test_a_clock_that_ran_ahead_keeps_no_night_from_its_seal(appliance):
    chains_seal_tonight(now=NIGHT + 365 * DAY)

    back = [chains_seal_tonight(now=NIGHT + days * DAY) for days in (0, 1, 364, 365)]

    assert [seal.number for seal in back] == [2, 3, 4, 5]
    assert _said() == []


# --- What was done to the records ------------------------------------------------------------


def test_the_end_of_a_chain_taken_away_with_its_links_is_named(appliance):
    chains_seal(now=NIGHT)
    file_event(appliance)
    chains_seal(now=NIGHT + DAY)

    _cut_off(appliance, 2)

    # Nothing is left by which the chains alone could tell.
    assert list(records_verify()) == []
    assert _said() == [_fell(appliance, "the chain ends with no. 2 now; what followed was taken away")]


def test_what_was_filed_after_the_last_seal_has_no_witness_yet(appliance):
    chains_seal(now=NIGHT)
    file_event(appliance)

    _cut_off(appliance, 3)

    assert _said() == []


def test_records_filed_in_place_of_those_taken_away_dont_hide_it(appliance):
    chains_seal(now=NIGHT)
    _cut_off(appliance, 2)
    file_event(appliance, work_done="Another third.")
    file_event(appliance, work_done="A fourth.")

    # Sealing goes on, and heals nothing.
    chains_seal(now=NIGHT + DAY)

    assert list(records_verify()) == []
    assert _said() == [_fell(appliance, "another record stands there than the one sealed; it was replaced")]


def test_a_whole_chain_rewritten_is_named(appliance):
    chains_seal(now=NIGHT)
    run("UPDATE jobs_serviceevent SET work_done = 'Nothing.' WHERE appliance_id = %s", appliance.pk)
    previous = ""
    for link in _chain(appliance):
        link.previous_sha256 = previous
        form = canonical_forms(link.record_kind, [link.record_id])[link.record_id]
        previous = link_sha256(link, form)
        run(
            "UPDATE jobs_chainlink SET previous_sha256 = %s, sha256 = %s WHERE id = %s",
            link.previous_sha256,
            previous,
            link.pk,
        )

    assert list(records_verify()) == []
    assert _said() == [_fell(appliance, "another record stands there than the one sealed; it was replaced")]


def test_a_whole_chain_taken_away_is_named(appliance):
    file_event()
    chains_seal(now=NIGHT)

    _cut_off(appliance, 0)

    assert list(records_verify()) == []
    (said,) = _said()
    assert said.endswith("the whole chain was taken away")


# --- What was done to the seals --------------------------------------------------------------


@pytest.mark.parametrize(
    ("statement", "said"),
    [
        ("UPDATE jobs_chainseal SET link_count = 2 WHERE number = 2", "seal 2: it is not as it was made"),
        (
            "UPDATE jobs_chainseal SET sealed_at = '2026-03-04 11:00:00+00:00' WHERE number = 2",
            "seal 2: it is not as it was made",
        ),
        ("DELETE FROM jobs_chainseal WHERE number = 2", "seal 3: the seal before it is missing"),
        (
            "UPDATE jobs_chainseal SET previous_sha256 = '' WHERE number = 3",
            "seal 3: it doesn't follow on the seal before it",
        ),
        (
            "DELETE FROM jobs_sealedhead WHERE sequence = 3",
            "seal 1: its heads are not those that it was made of",
        ),
        (
            "UPDATE jobs_sealedhead SET sequence = 2 WHERE sequence = 3",
            "seal 1: its heads are not those that it was made of",
        ),
    ],
)
def test_the_first_seal_that_was_changed_is_named(appliance, statement, said):
    for nights in range(4):
        chains_seal(now=NIGHT + nights * DAY)

    run(statement)

    assert _said()[0] == said


def test_checking_takes_one_query_more_for_each_seal_and_none_for_more_chains(
    appliance, django_assert_max_num_queries
):
    chains_seal(now=NIGHT)
    for _ in range(5):
        file_event()
    chains_seal(now=NIGHT + DAY)

    with django_assert_max_num_queries(4):
        assert _said() == []


# --- The command -----------------------------------------------------------------------------


def test_the_command_names_what_fell_and_exits_1(appliance, capsys):
    chains_seal(now=NIGHT)
    _cut_off(appliance, 2)

    with pytest.raises(CommandError) as caught:
        call_command("verify_records", "--seal")

    assert caught.value.returncode == 1
    assert f"appliance:{appliance.pk} no. 3, held by seal 1" in capsys.readouterr().out
    # What doesn't match isn't sealed by hand.
    assert ChainSeal.objects.count() == 1


def test_the_command_seals_whenever_it_is_asked_to(appliance, capsys, time_machine):
    time_machine.move_to(NIGHT, tick=False)
    call_command("verify_records")
    assert "No seal covers them yet" in capsys.readouterr().out

    call_command("verify_records", "--seal")
    call_command("verify_records", "--seal")
    file_event(appliance)
    call_command("verify_records")

    newest = ChainSeal.objects.get(number=2)
    said = capsys.readouterr().out
    assert "Seal 2 of 2026-03-03 10:35 UTC covers 3 links of 1 chains." in said
    assert f"1 links were added since. To be kept elsewhere: 2 {newest.sha256}" in said
