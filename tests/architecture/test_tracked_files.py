"""What no file of the repository may hold."""

import re

import pytest

from tests.architecture.source_tree import own_text_files, tracked_files

# Joined here, so that this file passes its own test.
FORBIDDEN = {
    "a package registry's host": (
        "pypi" + r"\.org",
        "python" + r"hosted\.",
        "npm" + r"js\.",
        "debian" + r"\.org",
    ),
    "a path of one machine": (r"(?<![\w.$}])/" + r"(work|root|farm|home|Users)/\w",),
    "a marker for later": (r"\b(TO" + "DO|FIX" + "ME|XX" + r"X|HA" + r"CK)\b",),
}


@pytest.mark.parametrize("what", FORBIDDEN)
def test_no_file_holds(what):
    pattern = re.compile("|".join(FORBIDDEN[what]))

    found = [
        (path, number, line.strip()[:120])
        for path, text in own_text_files()
        for number, line in enumerate(text.splitlines(), start=1)
        if pattern.search(line)
    ]

    assert found == []


def test_nothing_that_runs_leave_behind_is_tracked():
    leavings = [
        path
        for path in tracked_files()
        if re.search(r"(\.sqlite3|\.pyc|\.log|\.pid)$|(^|/)(var|\.venv)/", path)
    ]

    assert leavings == []
