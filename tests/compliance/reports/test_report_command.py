"""The command that runs a report: which files it writes, and whom they name as who ran it."""

import csv
import getpass
import io
import os
import zipfile
from collections.abc import Callable
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command

from tests import people
from tests.compliance.reports.asking import pdf_text

Run = Callable[..., bytes]


@pytest.fixture
def run(db: None, tmp_path: Path) -> Run:
    def write(*arguments: str) -> bytes:
        out = tmp_path / "report"
        call_command("report", "cylinder-register", *arguments, "--out", str(out), stdout=io.StringIO())
        return out.read_bytes()

    return write


@pytest.fixture
def login(monkeypatch: pytest.MonkeyPatch) -> str:
    """The name of the login, as the machine is told it (POSIX: LOGNAME)."""
    monkeypatch.setenv("LOGNAME", "night-clerk")
    return "login night-clerk at the command line"


def tables(archive: bytes) -> list[list[list[str]]]:
    with zipfile.ZipFile(io.BytesIO(archive)) as files:
        read = [io.StringIO(files.read(name).decode("utf-8-sig")) for name in files.namelist()]
    return [list(csv.reader(text)) for text in read]


def ran_by(archive: bytes) -> str:
    """Whom the file names, without the instant after it."""
    return dict(tables(archive)[-1])["Run by"].rpartition(", ")[0]


def test_it_writes_all_tables_or_one_of_them(run: Run) -> None:
    whole = tables(run("--format", "zip", "--known-at", "2026-03-02T10:00"))

    for number, table in enumerate(whole):
        one = run("--format", "csv", "--table", str(number), "--known-at", "2026-03-02T10:00")
        written = list(csv.reader(io.StringIO(one.decode("utf-8-sig"))))
        # All but the line that says when it ran.
        assert [row for row in written if row[0] != "Run by"] == [row for row in table if row[0] != "Run by"]
    with pytest.raises(CommandError, match=f"{len(whole) - 1} About"):
        run("--format", "csv", "--table", str(len(whole)))


def test_it_names_the_login(run: Run, login: str) -> None:
    assert ran_by(run("--format", "zip")) == login
    assert f"Run by {login}, " in pdf_text(run())


def test_it_names_the_user_who_is_given_and_the_login(run: Run, login: str) -> None:
    officer = people.officer()

    assert ran_by(run("--format", "zip", "--by", officer.email.upper())) == f"{officer} ({login})"


@pytest.mark.parametrize("error", [KeyError("getpwuid(): uid not found: 1000"), OSError("No username set")])
def test_a_login_without_a_name_is_named_by_its_number(
    run: Run, monkeypatch: pytest.MonkeyPatch, error: Exception
) -> None:
    def fail() -> str:
        raise error

    monkeypatch.setattr(getpass, "getuser", fail)

    assert ran_by(run("--format", "zip")) == f"login no. {os.getuid()} at the command line"


def test_nobody_else_is_named(run: Run) -> None:
    gone = people.officer()
    gone.is_active = False
    gone.save()

    for email in (gone.email, "nobody@fennimore-oduya.example", ""):
        with pytest.raises(CommandError, match=f"--by: '{email}' was given; expected the e-mail address"):
            run("--by", email)
