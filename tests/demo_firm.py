"""The demo firm for tests: loaded once a module, rolled back after it."""

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime

import time_machine
from django.db import transaction
from pytest_django import DjangoDbBlocker

from portal.demo.load import load_demo_firm

NOW = datetime(2026, 11, 25, 18, tzinfo=UTC)


def load(now: datetime = NOW) -> None:
    """Load the demo firm as of an instant; the registers' histories bear it too, whatever the real time is."""
    with time_machine.travel(now, tick=False):
        load_demo_firm(today=now.date(), now=now)


@contextmanager
def loaded(blocker: DjangoDbBlocker) -> Iterator[None]:
    """Keep the demo firm of 25 November 2026 in the database for a while."""
    with blocker.unblock(), transaction.atomic():
        load()
        yield
        transaction.set_rollback(True)
