"""Packs are asked for on a page, made by a worker, gone on with after one that was killed, and kept."""

import datetime
import hashlib
import zipfile
from pathlib import Path

import pytest
from django.urls import reverse
from django.utils import timezone

from compliance.models import RecordPack, WorkState
from compliance.services.packs import runs
from compliance.services.packs.runs import (
    ATTEMPTS_MAX,
    CLAIM_LASTS,
    record_pack_claim,
    record_pack_make,
    record_pack_request,
)
from compliance.tasks import make_record_pack, make_waiting_packs
from jobs.models import Appliance
from portal.accounts.models import User
from tests import people
from tests.factories import ApplianceFactory, file_event

pytestmark = pytest.mark.django_db

NOW = datetime.datetime(2026, 3, 31, 18, tzinfo=datetime.UTC)


@pytest.fixture
def officer(db: None, settings, tmp_path: Path) -> User:
    settings.MEDIA_ROOT = tmp_path
    settings.DATA_DIR = tmp_path
    settings.STORAGES = {
        **settings.STORAGES,
        "default": {
            "BACKEND": "django.core.files.storage.FileSystemStorage",
            "OPTIONS": {"location": tmp_path / "files"},
        },
    }
    return people.officer()


@pytest.fixture
def chiller(db: None) -> Appliance:
    """One visit; so little that a pack of it is quickly made."""
    return file_event(ApplianceFactory()).event.appliance


@pytest.fixture
def pack(officer: User, chiller: Appliance) -> RecordPack:
    return record_pack_request(
        by=officer,
        subject=chiller,
        happened_from=datetime.date(2026, 1, 1),
        happened_to=datetime.date(2026, 3, 31),
        known_at=NOW,
        asked_at=NOW + datetime.timedelta(hours=3),
    )


def test_a_pack_is_made_and_kept(pack, tmp_path, check):
    make_record_pack(pack.pk)

    kept = RecordPack.objects.get()
    assert (kept.state, kept.done_pct, kept.failure) == (WorkState.DONE, 100, "")
    assert hashlib.sha256(kept.file.read()).hexdigest() == kept.file_sha256
    checked = check(Path(kept.file.path))
    assert checked.returncode == 0
    assert kept.manifest_sha256 in checked.stdout
    # Nothing of the work is left behind.
    assert list((tmp_path / "packs").iterdir()) == []


def test_a_pack_that_another_worker_has_is_left_to_it(pack):
    claimed = record_pack_claim(now=NOW, pk=pack.pk)

    assert claimed is not None
    assert record_pack_claim(now=NOW + CLAIM_LASTS / 2) is None


def test_after_a_killed_worker_the_next_goes_on_with_what_is_there(pack, tmp_path):
    record_pack_claim(now=NOW - CLAIM_LASTS)
    made = tmp_path / "packs" / str(pack.pk) / "README.txt"
    made.parent.mkdir(parents=True)
    made.write_text("made by the one that was killed")

    taken = record_pack_claim(now=NOW + CLAIM_LASTS)
    record_pack_make(pack=taken)

    assert RecordPack.objects.get().state == WorkState.DONE
    digest = hashlib.sha256(b"made by the one that was killed").hexdigest()
    assert digest.encode() in _read(RecordPack.objects.get(), "manifest.json")


def _read(pack, name):
    with zipfile.ZipFile(pack.file.path) as archive:
        return archive.read(next(entry for entry in archive.namelist() if entry.endswith(name)))


def test_a_pack_says_who_asked_for_it_and_when(client, officer, pack):
    make_record_pack(pack.pk)
    client.force_login(officer)

    made = RecordPack.objects.get()
    assert f"Asked for by: {officer}, 2026-03-31 16:00 CDT" in _read(made, "README.txt").decode()
    page = " ".join(client.get(reverse("record-pack", args=[pack.pk])).text.split())
    assert f'Asked for by {officer}, <span class="date">2026-03-31 16:00</span>' in page


def test_one_whose_claim_was_taken_over_keeps_nothing(pack):
    mine = record_pack_claim(now=NOW)
    record_pack_claim(now=NOW + 2 * CLAIM_LASTS)
    record_pack_make(pack=mine)

    assert RecordPack.objects.get().state == WorkState.RUNNING
    assert not RecordPack.objects.get().file


def test_a_pack_that_takes_longer_than_a_task_goes_on_in_the_next(pack, monkeypatch, tmp_path):
    monkeypatch.setattr(runs, "WORK_LASTS_S", 0)
    monkeypatch.setattr(runs, "PROGRESS_EVERY_S", 0)
    make_record_pack(pack.pk)
    between = RecordPack.objects.get()
    monkeypatch.undo()
    make_waiting_packs()

    assert (between.state, between.attempts) == (WorkState.WAITING, 0)
    assert RecordPack.objects.get().state == WorkState.DONE


def test_a_fault_is_kept_and_the_pack_can_be_asked_for_again(client, officer, pack, monkeypatch):
    def fail(*_):
        raise OSError("the disk is full")

    monkeypatch.setattr(runs, "pack_build", fail)
    make_record_pack(pack.pk)
    monkeypatch.undo()
    client.force_login(officer)
    page = client.get(reverse("record-pack", args=[pack.pk])).text
    client.post(reverse("record-pack-retry", args=[pack.pk]))

    assert "OSError: the disk is full" in page
    assert RecordPack.objects.get().state == WorkState.WAITING


def test_one_that_ends_every_worker_is_given_up(pack):
    RecordPack.objects.update(state=WorkState.RUNNING, claimed_at=NOW, attempts=ATTEMPTS_MAX)
    record_pack_make(pack=record_pack_claim(now=NOW + 2 * CLAIM_LASTS))

    assert RecordPack.objects.get().failure.startswith("Given up")


def test_the_officer_asks_follows_and_downloads(client, officer, chiller):
    client.force_login(officer)
    page = client.get(reverse("record-pack-list"), {"appliance": chiller.pk}).text
    data = {"appliance": chiller.pk, "happened_from": "2026-01-01", "happened_to": "2026-03-31"}
    asked = client.post(reverse("record-pack-list"), data)
    pack = RecordPack.objects.get()
    waiting = client.get(asked.url).text
    make_record_pack(pack.pk)

    assert f'<option value="{chiller.pk}" selected>' in page
    assert "Waiting for a worker" in waiting
    pack.refresh_from_db()
    assert pack.manifest_sha256 in client.get(asked.url).text
    answer = client.get(reverse("record-pack-file", args=[pack.pk]))
    assert b"".join(answer.streaming_content).startswith(b"PK")
    assert answer["Content-Disposition"].startswith('attachment; filename="record-pack-appliance-')


def test_a_pack_may_be_asked_for_as_known_then(client, officer, chiller):
    client.force_login(officer)
    data = {"appliance": chiller.pk, "happened_from": "2026-01-01", "happened_to": "2026-03-31"}

    client.post(reverse("record-pack-list"), data | {"known_at": "2026-03-05T09:30"})

    pack = RecordPack.objects.get()
    assert pack.known_at == datetime.datetime.fromisoformat("2026-03-05T09:30-06:00")
    assert abs(pack.asked_at - timezone.now()) < datetime.timedelta(minutes=5)


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (
            {"happened_from": "2026-01-01", "happened_to": "2026-02-01"},
            "Expected a customer, a site or an appliance",
        ),
        ({"happened_from": "2999-01-01", "happened_to": "2999-02-01"}, "Expected a date from"),
        ({"happened_from": "2026-02-01", "happened_to": "2026-01-01"}, "Expected a date from 2026-02-01"),
        ({"known_at": "2999-01-01T00:00"}, "Expected an instant up to"),
    ],
)
def test_a_pack_that_cannot_be_is_refused_in_words(client, officer, data, said):
    client.force_login(officer)

    assert said in client.post(reverse("record-pack-list"), data).text
    assert not RecordPack.objects.exists()


@pytest.mark.parametrize("person", ["office_admin", "technician_user", "stranger"])
def test_nobody_else_packs(client, db, person):
    client.force_login(getattr(people, person)())

    assert client.get(reverse("record-pack-list")).status_code == 403
