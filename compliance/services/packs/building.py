"""Makes a record pack: writes its files into a folder, seals them by a manifest, and puts all of it into one ZIP.

A file that is there already stays, so that whoever goes on after a killed worker makes only the rest.
"""

import hashlib
import json
import zipfile
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from compliance.rulebook.tables import load_tables
from compliance.rulebook.version import RULEBOOK_VERSION
from compliance.selectors.pack_contents import PackScope
from compliance.services.packs.files import pack_files
from compliance.services.packs.verify_pack import MANIFEST, SEAL

#: Told how many files are made out of how many; may raise to stop the work.
Progress = Callable[[int, int], None]
#: Unpacked files are for everyone to read.
ZIP_MODE = 0o644 << 16


@dataclass(frozen=True)
class BuiltPack:
    """A finished pack: its ZIP, and the SHA-256 of it and of its manifest."""

    path: Path
    sha256: str
    manifest_sha256: str


def pack_build(scope: PackScope, folder: Path, target: Path, progress: Progress) -> BuiltPack:
    """Make a pack.

    Args:
        scope: what goes in.
        folder: where its files are made; what an earlier attempt left there is used.
        target: the ZIP.
        progress: told after each file.
    """
    files = list(pack_files(scope))
    for done, file in enumerate(files):
        progress(done, len(files))
        path = folder / file.path
        if not path.is_file():
            _write(path, file.write())
    paths = sorted(file.path for file in files)
    manifest = _manifest(scope, folder, paths)
    _write(folder / MANIFEST, manifest)
    manifest_sha256 = hashlib.sha256(manifest).hexdigest()
    _write(folder / SEAL, f"{manifest_sha256}  {MANIFEST}\n".encode())
    _zip(scope, folder, [*paths, MANIFEST, SEAL], target)
    progress(len(files), len(files))
    return BuiltPack(target, _sha256(target), manifest_sha256)


def _write(path: Path, content: bytes) -> None:
    """Write a file whole or not at all: aside, then renamed."""
    path.parent.mkdir(parents=True, exist_ok=True)
    draft = path.with_name(f"{path.name}.part")
    draft.write_bytes(content)
    draft.replace(path)


def _manifest(scope: PackScope, folder: Path, paths: list[str]) -> bytes:
    document = {
        "pack": scope.title,
        "visits": [scope.happened_from.isoformat(), scope.happened_to.isoformat()],
        "known_at": scope.known_at.isoformat(),
        "asked_by": scope.asked_by,
        "asked_at": scope.asked_at.isoformat(),
        "rulebook": RULEBOOK_VERSION,
        "tables": load_tables().version,
        "files": {path: _sha256(folder / path) for path in paths},
    }
    return f"{json.dumps(document, ensure_ascii=False, indent=1)}\n".encode()


def _sha256(path: Path) -> str:
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def _zip(scope: PackScope, folder: Path, paths: list[str], target: Path) -> None:
    """Pack the files in order, all with the instant of the pack, so that the same files give the same ZIP."""
    draft = target.with_name(f"{target.name}.part")
    with zipfile.ZipFile(draft, "w", zipfile.ZIP_DEFLATED) as archive:
        for path in paths:
            entry = zipfile.ZipInfo(f"{scope.name}/{path}", date_time=scope.known_at.timetuple()[:6])
            entry.compress_type, entry.external_attr = zipfile.ZIP_DEFLATED, ZIP_MODE
            archive.writestr(entry, (folder / path).read_bytes())
    draft.replace(target)
