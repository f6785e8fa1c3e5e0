"""Database triggers that keep filed tables as they were written, for SQLite and PostgreSQL.

A migration that alters a filed table on SQLite makes the table anew and loses its triggers: end it with
``put_triggers`` for that table. A test walks all filed tables and finds out.
"""

from collections.abc import Iterable, Iterator
from typing import Any

FUNCTION = "jobs_refuse_change"
MESSAGE = "a filed record is never changed or deleted"

POSTGRESQL_FUNCTION = f"""
CREATE OR REPLACE FUNCTION {FUNCTION}() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    RAISE EXCEPTION '{MESSAGE} (%)', TG_TABLE_NAME USING ERRCODE = 'integrity_constraint_violation';
END $$
"""


def put_triggers(connection: Any, tables: Iterable[str]) -> None:
    """Make the database refuse UPDATE and DELETE on the tables, and TRUNCATE where there is one."""
    with connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            cursor.execute(POSTGRESQL_FUNCTION)
        for table in tables:
            for name in trigger_names(connection, table):
                cursor.execute(_creation(connection.vendor, table, name))


def drop_triggers(connection: Any, tables: Iterable[str]) -> None:
    """Let the tables be changed again; for undoing a migration, and for the tests, which empty their database."""
    with connection.cursor() as cursor:
        for table in tables:
            for name in trigger_names(connection, table):
                place = f' ON "{table}"' if connection.vendor == "postgresql" else ""
                cursor.execute(f'DROP TRIGGER IF EXISTS "{name}"{place}')


def trigger_names(connection: Any, table: str) -> Iterator[str]:
    """The names of a table's triggers, such as ``jobs_transfer_refuses_update``."""
    acts = ("update", "delete", "truncate") if connection.vendor == "postgresql" else ("update", "delete")
    return (f"{table}_refuses_{act}" for act in acts)


def _creation(vendor: str, table: str, name: str) -> str:
    act = name.rpartition("_")[2].upper()
    if vendor == "postgresql":
        each = "STATEMENT" if act == "TRUNCATE" else "ROW"
        return (
            f'CREATE TRIGGER "{name}" BEFORE {act} ON "{table}" FOR EACH {each} EXECUTE FUNCTION {FUNCTION}()'
        )
    return f'CREATE TRIGGER "{name}" BEFORE {act} ON "{table}" BEGIN SELECT RAISE(ABORT, \'{MESSAGE}\'); END'
