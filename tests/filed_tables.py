"""Lets tests empty the database: without it, filed tables refuse even the clean-up after a test.

The switch is no setting of the portal: the triggers are dropped by hand and put back.
"""

from collections.abc import Iterator
from contextlib import contextmanager

import pytest
from django.apps import apps
from django.db import connection
from django.test import TransactionTestCase

from jobs.models.filed import FiledModel
from jobs.models.fixed_tables import drop_triggers, put_triggers


def filed_tables() -> list[str]:
    """The tables of all filed models."""
    return sorted(model._meta.db_table for model in apps.get_models() if issubclass(model, FiledModel))


@contextmanager
def unfixed_tables() -> Iterator[None]:
    """Take the triggers off the filed tables for a while, as someone with full rights on the database could."""
    if connection.in_atomic_block:
        # PostgreSQL alters no table with checks still to be made at the transaction's end.
        connection.check_constraints()
    drop_triggers(connection, filed_tables())
    try:
        yield
    finally:
        put_triggers(connection, filed_tables())


@pytest.fixture(autouse=True, scope="session")
def _filed_tables_can_be_emptied() -> Iterator[None]:
    """Take the triggers off while a test that commits has its rows flushed."""
    flush = TransactionTestCase._fixture_teardown

    def flush_unfixed(case: TransactionTestCase) -> None:
        with unfixed_tables():
            flush(case)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(TransactionTestCase, "_fixture_teardown", flush_unfixed)
        yield
