"""The demo firm for tests: loaded once a run into a copy of the tests' database, which modules turn to."""

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime

import pytest
import time_machine
from django.db import connection, transaction
from pytest_django import DjangoDbBlocker

from portal.demo.load import load_demo_firm

NOW = datetime(2026, 11, 25, 18, tzinfo=UTC)
COPY = "demo"


def load(now: datetime = NOW) -> None:
    """Load the demo firm as of an instant; the registers' histories bear it too, whatever the real time is."""
    with time_machine.travel(now, tick=False):
        load_demo_firm(today=now.date(), now=now)


@contextmanager
def _turned_to(database: str) -> Iterator[None]:
    """Let all connections lead to another database for a while."""
    usual = connection.settings_dict["NAME"]
    connection.close()
    connection.settings_dict["NAME"] = database
    try:
        yield
    finally:
        connection.close()
        connection.settings_dict["NAME"] = usual


@pytest.fixture(scope="session")
def demo_database(django_db_setup: None, django_db_blocker: DjangoDbBlocker) -> Iterator[str]:
    """The name of a copy of the tests' database with the demo firm of 25 November 2026 in it."""
    creation = connection.creation
    with django_db_blocker.unblock():
        if connection.vendor == "sqlite":
            # Only the file is copied, not the log of what is to be written into it.
            connection.cursor().execute("PRAGMA wal_checkpoint(TRUNCATE)")
        creation.clone_test_db(suffix=COPY, verbosity=0)
        name = creation.get_test_db_clone_settings(COPY)["NAME"]
        with _turned_to(name), transaction.atomic():
            load()
            # Nobody waits for what the loaded records would set off.
            connection.run_on_commit.clear()
    yield name
    with django_db_blocker.unblock():
        creation.destroy_test_db(suffix=COPY, verbosity=0)


@pytest.fixture(scope="module")
def demo_firm(demo_database: str, django_db_blocker: DjangoDbBlocker) -> Iterator[None]:
    """The demo firm of 25 November 2026, in the database for the rest of the module; tests undo what they add."""
    with django_db_blocker.unblock(), _turned_to(demo_database):
        yield
