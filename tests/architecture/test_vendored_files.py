"""Files of others that we serve are the ones that VENDOR.md names."""

import hashlib
import re

from tests.architecture.source_tree import ROOT, VENDORED, tracked_files

FOLDER = ROOT / VENDORED
LIST = (FOLDER / "VENDOR.md").read_text(encoding="utf-8")
SUMS = dict(re.findall(r"^\| `([^`]+)` \| `([0-9a-f]{64})` \|$", LIST, flags=re.MULTILINE))


def test_each_file_is_listed_with_its_sum():
    texts = ("VENDOR.md", "LICENSE", "OFL.txt")

    files = {path.removeprefix(VENDORED) for path in tracked_files() if path.startswith(VENDORED)}

    assert {file for file in files if not file.endswith(texts)} == set(SUMS)
    assert {file: hashlib.sha256((FOLDER / file).read_bytes()).hexdigest() for file in SUMS} == SUMS


def test_each_file_has_a_licence_beside_it():
    for file in SUMS:
        licences = [
            path for path in (FOLDER / file).parent.iterdir() if path.name.endswith(("LICENSE", "OFL.txt"))
        ]
        assert licences, file
        assert f"`{file.split('/')[0]}/" in LIST
