"""Checks a record pack with Python's standard library alone.

Run it as: python3 verify_pack.py [PACK]

PACK is the pack's ZIP or the folder that it was unpacked to; without it, the folder of this script. Each file must
have the SHA-256 that manifest.json gives it, and each record must fit its hash chain. What doesn't is named, and
the exit status is 1. What a ZIP itself notes of its entries, such as their times, isn't looked at. The script that
comes in the pack proves nothing against whoever changed both: take it from elsewhere, and compare the manifest's
SHA-256 with the one that the portal shows for the pack.
"""

from __future__ import annotations

import hashlib
import json
import struct
import sys
import zipfile
import zlib
from collections import Counter
from pathlib import Path
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Iterator

MANIFEST, SEAL = "manifest.json", "manifest.sha256"
CHAINS = "chains.json"
# What reading a damaged ZIP may raise.
DAMAGE = (
    *(zipfile.BadZipFile, zlib.error, struct.error, EOFError, OSError),
    *(NotImplementedError, RuntimeError, ValueError),
)
LINK_FIELDS = ("sequence", "record_kind", "record_id", "previous_sha256")


def canonical_json(document: Any) -> bytes:
    """The one byte string that stands for a document: sorted keys, UTF-8, no spaces."""
    return json.dumps(document, sort_keys=True, ensure_ascii=False, separators=(",", ":")).encode("utf-8")


def sha256(content: bytes) -> str:
    """The SHA-256 of a content, in hexadecimal."""
    return hashlib.sha256(content).hexdigest()


class Folder:
    """A pack that was unpacked."""

    def __init__(self, path: Path) -> None:
        self.path = path

    def names(self) -> set[str]:
        """The names of all files in it."""
        files = (path for path in self.path.rglob("*") if path.is_file())
        return {path.relative_to(self.path).as_posix() for path in files}

    def doubled(self) -> list[str]:
        """A folder holds no two files of one name."""
        return []

    def read(self, name: str) -> bytes | None:
        """A file's content; None where there is none, and nothing where it can't be unpacked."""
        path = self.path / name
        return path.read_bytes() if path.is_file() else None


class Archive:
    """A pack as it came: one folder in a ZIP."""

    def __init__(self, path: Path) -> None:
        self.zip = zipfile.ZipFile(path)
        self.top = (
            next((name.partition("/")[0] for name in self.zip.namelist() if name.endswith(MANIFEST)), "")
            + "/"
        )

    def doubled(self) -> list[str]:
        """The names that more than one entry has: programs differ in which of them they unpack."""
        return sorted(name for name, count in Counter(self.zip.namelist()).items() if count > 1)

    def names(self) -> set[str]:
        """The names of all files in it."""
        names = (name for name in self.zip.namelist() if not name.endswith("/"))
        return {name[len(self.top) :] if name.startswith(self.top) else f"/{name}" for name in names}

    def read(self, name: str) -> bytes | None:
        """A file's content; None where there is none, and nothing where it can't be unpacked."""
        try:
            return self.zip.read(self.top + name)
        except KeyError:
            return None
        except DAMAGE:
            return b""


def check(pack: Folder | Archive) -> Iterator[str]:
    """Yield a sentence for each thing that is wrong."""
    manifest = pack.read(MANIFEST)
    seal = pack.read(SEAL)
    if manifest is None or seal is None:
        yield f"{MANIFEST if manifest is None else SEAL}: missing; nothing can be checked without it"
        return
    if seal != f"{sha256(manifest)}  {MANIFEST}\n".encode():
        yield f"{MANIFEST} or {SEAL}: changed; the one doesn't fit the other, so nothing else was checked"
        return
    files = json.loads(manifest)["files"]
    changed = set()
    for name, wanted in sorted(files.items()):
        content = pack.read(name)
        if content is None:
            yield f"{name}: missing"
        elif sha256(content) != wanted:
            changed.add(name)
            yield f"{name}: changed; its SHA-256 is not the one in {MANIFEST}"
    for name in sorted(pack.names() - set(files) - {MANIFEST, SEAL}):
        yield f"{name}: not in {MANIFEST}; somebody put it there"
    for name in pack.doubled():
        yield f"{name}: more than once in the ZIP; somebody added to it"
    if CHAINS in files and CHAINS not in changed and pack.read(CHAINS) is not None:
        yield from check_chains(pack, files, changed)


def check_chains(pack: Folder | Archive, files: dict[str, str], changed: set[str]) -> Iterator[str]:
    """Yield a sentence for each link that doesn't follow on the one before it, or whose record doesn't fit it."""
    for chain in json.loads(pack.read(CHAINS) or b"{}")["chains"]:
        previous, number = "", 0
        for link in chain["links"]:
            place = f"{chain['chain']} no. {link['sequence']}"
            if link["sequence"] != number + 1 or link["previous_sha256"] != previous:
                yield f"{CHAINS}: {place} doesn't follow on the link before it"
            previous, number = link["sha256"], link["sequence"]
            name = link["file"]
            content = None if name is None or name in changed else pack.read(name)
            if content is None:
                continue
            record = json.loads(content)
            document = {"chain": chain["chain"], "record": record}
            document.update((field, link[field]) for field in LINK_FIELDS)
            if sha256(canonical_json(document)) != link["sha256"]:
                yield f"{name}: not as it was filed; it doesn't fit {place}"
            for what, kept in kept_files(record):
                if kept["sha256"] not in files.values():
                    yield f"{name}: the {what} {kept['name']} that it names is not in the pack"


def kept_files(record: dict[str, Any]) -> list[tuple[str, dict[str, Any]]]:
    """The weigh logs and documents that a record was filed with, each with what it is."""
    rows = [record, *(row.get("weigh_log") or {} for row in record.get("transfers", ()))]
    logs = [("weigh log", row) for row in rows if row.get("record") == "weigh_log"]
    return [*logs, *(("document", row) for row in record.get("attachments", ()))]


def summary(pack: Folder | Archive) -> str:
    """What was checked, in one paragraph."""
    manifest = pack.read(MANIFEST) or b"{}"
    files = json.loads(manifest)["files"]
    links = [link for chain in json.loads(pack.read(CHAINS) or b"{}")["chains"] for link in chain["links"]]
    inside = sum(link["file"] is not None for link in links)
    return (
        f"All {len(files)} files are as they were made, and {inside} records fit their hash chains. "
        f"{len(links) - inside} further links belong to records outside the pack; only their order was checked.\n"
        f"SHA-256 of {MANIFEST}: {sha256(manifest)}"
    )


def main(arguments: list[str]) -> int:
    """Check the pack that the arguments name, say what is wrong, and return the exit status."""
    if len(arguments) > 1 or arguments[:1] in (["-h"], ["--help"]):
        sys.stdout.write(__doc__ or "")
        return 0 if len(arguments) == 1 else 2
    path = Path(arguments[0]) if arguments else Path(__file__).resolve().parent
    if not path.exists():
        sys.stderr.write(f"There is nothing at {path}.\n")
        return 2
    try:
        pack = Folder(path) if path.is_dir() else Archive(path)
    except DAMAGE:
        sys.stdout.write(f"{path}: not a ZIP file, or a damaged one\n")
        return 1
    wrong = list(check(pack))
    sys.stdout.write("\n".join(wrong or [summary(pack)]) + "\n")
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
