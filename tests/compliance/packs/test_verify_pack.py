"""The script that checks a pack runs anywhere and names whatever was changed, down to one byte."""

import hashlib
import json
import random
import shutil
import struct
import zipfile
import zlib

import pytest

from compliance.services.packs.building import _manifest
from compliance.services.packs.verify_pack import CHAINS, MANIFEST, SEAL

pytestmark = pytest.mark.django_db


def files(folder):
    return sorted(path for path in folder.rglob("*") if path.is_file())


def flip(path, source):
    """Change one byte of a file into another one."""
    content = bytearray(path.read_bytes())
    content[source.randrange(len(content))] ^= source.randrange(1, 256)
    path.write_bytes(content)


def sealed_anew(scope, folder):
    """As a forger would: whose manifest fits what was changed."""
    names = [path.relative_to(folder).as_posix() for path in files(folder)]
    manifest = _manifest(scope, folder, [name for name in names if name not in (MANIFEST, SEAL)])
    (folder / MANIFEST).write_bytes(manifest)
    (folder / SEAL).write_text(f"{hashlib.sha256(manifest).hexdigest()}  {MANIFEST}\n")


def test_a_sound_pack_passes_as_folder_and_as_zip(folder, archive, check):
    for pack in (folder, archive):
        checked = check(pack)
        assert checked.returncode == 0, checked.stdout
        assert "records fit their hash chains. 1 further links belong to records outside" in checked.stdout
        assert hashlib.sha256((folder / MANIFEST).read_bytes()).hexdigest() in checked.stdout


def test_the_script_in_the_pack_checks_the_pack_around_it(folder, check):
    inside = folder / "verify_pack.py"

    assert inside.read_bytes().startswith(b'"""Checks a record pack')
    assert check(folder).returncode == 0


def test_a_changed_byte_is_found_in_every_kind_of_file(folder, check):
    """One of each: visits and filings as PDF and JSON, logs, documents, appliances, and what seals the pack."""
    kinds = {
        (path.parent.name, path.name.partition("-")[0], path.suffix)
        if path.parent != folder
        else (path.name,): path
        for path in files(folder)
    }
    found = {kind[-1] if len(kind) == 1 else f"{kind[0]}/{kind[1]}{kind[2]}" for kind in kinds}
    assert found >= {
        *("records/SE.pdf", "records/SE.json", "records/CF.pdf", "records/CF.json", "records/weigh.json"),
        *(MANIFEST, SEAL, CHAINS, "verify_pack.py", "README.txt", "index.html", "index.csv"),
    }
    assert {kind[0] for kind in kinds if len(kind) > 1} == {
        "records",
        "weigh-logs",
        "documents",
        "appliances",
    }

    unnamed = []
    for path in kinds.values():
        sound = path.read_bytes()
        flip(path, random.Random(1))
        checked = check(folder)
        path.write_bytes(sound)
        if checked.returncode != 1 or path.relative_to(folder).as_posix() not in checked.stdout:
            unnamed.append(path.name)

    assert unnamed == []
    assert check(folder).returncode == 0


@pytest.mark.parametrize("seed", range(3))
def test_a_changed_byte_is_found_and_its_file_named(folder, check, seed):
    _a_changed_byte_is_named(folder, check, random.Random(seed))


@pytest.mark.proof
def test_a_changed_byte_is_found_and_its_file_named_each_time(folder, check, tmp_path):
    for seed in range(400):
        copy = tmp_path / "copy"
        shutil.copytree(folder, copy)
        _a_changed_byte_is_named(copy, check, random.Random(seed))
        shutil.rmtree(copy)


def _a_changed_byte_is_named(folder, check, source):
    path = source.choice(files(folder))
    flip(path, source)

    checked = check(folder)

    assert checked.returncode == 1
    assert checked.stderr == ""
    assert path.relative_to(folder).as_posix() in checked.stdout
    assert len(checked.stdout.splitlines()) == 1


def packed_contents(archive):
    """Where the packed content of each entry lies: name and bytes.

    A local header has 30 bytes, at 26 and 28 of which stand the lengths of the name and of what more comes before the
    content (ZIP file format specification, 4.3.7; from memory, borne out by the contents that are read back here).
    """
    raw = archive.read_bytes()
    with zipfile.ZipFile(archive) as pack:
        for entry in pack.infolist():
            lengths = struct.unpack_from("<HH", raw, entry.header_offset + 26)
            start = entry.header_offset + 30 + sum(lengths)
            packed = raw[start : start + entry.compress_size]
            assert zlib.decompress(packed, -zlib.MAX_WBITS) == pack.read(entry)
            yield entry.filename, range(start, start + entry.compress_size)


def unpacked(archive, name):
    """An entry's content; None where it can't be unpacked any more."""
    with zipfile.ZipFile(archive) as pack:
        try:
            return pack.read(name)
        except (zipfile.BadZipFile, zlib.error, EOFError):
            return None


def _changed_bytes_of_entries_are_named(archive, check, source, times):
    """Of each time one byte of one entry's content: what ZIP itself notes of it, as its time, is nobody's record."""
    sound, entries, changes = archive.read_bytes(), list(packed_contents(archive)), 0
    for _ in range(times):
        name, place = source.choice(entries)
        content = bytearray(sound)
        content[source.choice(place)] ^= source.randrange(1, 256)
        before = unpacked(archive, name)
        archive.write_bytes(content)
        checked, after = check(archive), unpacked(archive, name)
        archive.write_bytes(sound)
        if after == before:
            # What is left of the last byte's bits after the content's end says nothing.
            assert checked.returncode == 0, (name, checked.stdout)
            continue
        changes += 1
        assert checked.returncode == 1, name
        assert checked.stderr == ""
        (line,) = checked.stdout.splitlines()
        named, _, said = line.partition(": ")
        assert name.partition("/")[2] in named.split(" or ")
        assert said.startswith("changed; ")
    return changes


def test_a_changed_byte_in_the_zip_is_found(archive, check):
    assert _changed_bytes_of_entries_are_named(archive, check, random.Random(3), 8) == 8


@pytest.mark.proof
def test_a_changed_byte_in_the_zip_is_found_each_time(archive, check):
    assert _changed_bytes_of_entries_are_named(archive, check, random.Random(4), 400) > 390


def test_what_zip_itself_notes_of_a_file_is_not_covered(archive, folder, scope, check):
    """As README.txt says: other times and attributes are nobody's record, while every byte of each file is."""
    with zipfile.ZipFile(archive, "w") as pack:
        for path in reversed(files(folder)):
            entry = zipfile.ZipInfo(
                f"{scope.name}/{path.relative_to(folder).as_posix()}", (1999, 1, 1, 0, 0, 0)
            )
            entry.external_attr = 0o600 << 16
            pack.writestr(entry, path.read_bytes())

    checked = check(archive)

    assert checked.returncode == 0, checked.stdout


@pytest.mark.filterwarnings("ignore:Duplicate name")
def test_a_second_file_of_one_name_in_the_zip_is_named(archive, folder, scope, check):
    """Some programs unpack the first of two, some the last: only one of them can be the one that was checked."""
    sound = (folder / "index.csv").read_bytes()
    with zipfile.ZipFile(archive) as pack:
        contents = [(name, pack.read(name)) for name in pack.namelist()]
    with zipfile.ZipFile(archive, "w") as pack:
        pack.writestr(f"{scope.name}/index.csv", sound.replace(b"as first filed", b"as last filed"))
        for name, content in contents:
            pack.writestr(name, content)

    checked = check(archive)

    assert checked.returncode == 1
    assert checked.stdout == f"{scope.name}/index.csv: more than once in the ZIP; somebody added to it\n"


def test_a_missing_and_an_added_file_are_named(folder, check):
    gone = next((folder / "records").glob("*.pdf"))
    gone.unlink()
    (folder / "records" / "SE-999999.json").write_text("{}")

    said = check(folder).stdout

    assert f"records/{gone.name}: missing" in said
    assert "records/SE-999999.json: not in manifest.json; somebody put it there" in said


def test_a_record_rewritten_with_its_manifest_still_breaks_the_chain(scope, folder, check):
    """What the chain is for: who can make a manifest anew can't make a record fit its link."""
    path = min((folder / "records").glob("SE-*.json"))
    record = json.loads(path.read_text())
    record["transfers"][0]["mass_mg"] -= 1
    path.write_text(json.dumps(record))
    sealed_anew(scope, folder)

    checked = check(folder)

    assert checked.returncode == 1
    assert f"records/{path.name}: not as it was filed; it doesn't fit appliance:" in checked.stdout


def test_a_link_taken_out_of_its_chain_is_noticed(scope, folder, check):
    path = folder / CHAINS
    document = json.loads(path.read_text())
    del document["chains"][0]["links"][2]
    path.write_text(json.dumps(document))
    sealed_anew(scope, folder)

    assert "no. 4 doesn't follow on the link before it" in check(folder).stdout


def test_a_weigh_log_left_out_is_noticed(scope, folder, check):
    for log in (folder / "weigh-logs").iterdir():
        log.unlink()
    sealed_anew(scope, folder)

    assert "the weigh log scale, first try.csv that it names is not in the pack" in check(folder).stdout


def test_a_document_left_out_is_noticed(scope, folder, check):
    for document in (folder / "documents").iterdir():
        document.unlink()
    sealed_anew(scope, folder)

    assert "the document letter of the maker.pdf that it names is not in the pack" in check(folder).stdout


def test_what_is_no_pack_is_said_to_be_none(check, tmp_path):
    (tmp_path / "letter.zip").write_text("Dear all")

    assert "not a ZIP file" in check(tmp_path / "letter.zip").stdout
    assert check(tmp_path / "nothing.zip").returncode == 2
