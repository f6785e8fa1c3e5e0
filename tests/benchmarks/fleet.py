"""A large firm as rows, multiplied inside PostgreSQL from one of each that was registered and filed as ever.

Chains of hashes are left out: nothing that is measured here reads them.
"""

# ruff: noqa: S608 -- the SQL is put together from what stands in this file and in the models

import datetime
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass

from django.db import connection
from django.db.models import Model

from compliance.services.sweeps import sweep_begin, sweep_chunk_assess, sweep_chunk_claim, sweep_finish
from jobs.models import Appliance, ServiceEvent, Site, StatementKind
from portal.accounts.models import User
from tests import people
from tests.compliance.firm import (
    FOLLOW_UP,
    INITIAL,
    add_appliance,
    add_customer,
    add_site,
    file,
    leak,
    pounds,
)

APPLIANCES_A_SITE = 40
VISITS = 5

# Of a hundred sites: 60 under federal law alone, 20 in California, 12 in the European Union, 8 in Great Britain; mixed,
# so that a few sites are of all kinds too.
_NTH = "n * 37 % 100"
_JURISDICTION = f"""CASE WHEN {_NTH} < 60 THEN 'us-federal' WHEN {_NTH} < 80 THEN 'us-california'
    WHEN {_NTH} < 92 THEN 'eu' ELSE 'uk' END"""
_ZONE = f"""CASE WHEN {_NTH} < 60 THEN (ARRAY['America/Chicago', 'America/New_York', 'America/Denver'])[1 + n % 3]
    WHEN {_NTH} < 80 THEN 'America/Los_Angeles' WHEN {_NTH} < 92 THEN 'Europe/Berlin' ELSE 'Europe/London' END"""
_METHOD = "CASE WHEN n % 3 = 0 THEN 'rolling_average' ELSE 'annualizing' END"
_REFRIGERANT = "(ARRAY['R-410A', 'R-404A', 'R-22', 'R-134a', 'R-448A'])[1 + n % 5]"
_CATEGORY = "(ARRAY['comfort_cooling', 'commercial_refrigeration'])[1 + n % 2]"
_CHARGE = "(20 + n * 7919 % 400) * 453592"


@dataclass(frozen=True)
class _Templates:
    """One event of each thing that happens to one: an addition, a leak found, mended, a full charge."""

    addition: ServiceEvent
    finding: ServiceEvent
    mending: ServiceEvent
    charging: ServiceEvent


def make_fleet(appliances: int, over: int) -> None:
    """Fill the database.

    Args:
        appliances: how many, with ``VISITS`` visits each in the last two years: inspections and small additions. The
            full charge of each hundredth was determined anew.
        over: how many of them had a third of their charge, or four thirds, added for a leak within the last 30 days;
            every other leak was mended on the next day.
    """
    admin = people.office_admin()
    site = add_site(admin, add_customer(admin))
    appliance = add_appliance(admin, site=site, refrigerant="R-404A", category="commercial_refrigeration")
    templates = _file_templates(admin, appliance)
    with _foreign_keys_checked_at_once():
        _fill(site, appliance, templates, appliances, over)
    with connection.cursor() as cursor:
        cursor.execute("ANALYZE")


def assess_fleet(now: datetime.datetime) -> None:
    """Assess all of it as of an instant, as a sweep does."""
    sweep_begin(now=now)
    while chunk := sweep_chunk_claim(now=now):
        sweep_chunk_assess(chunk=chunk, now=now)
    sweep_finish(now=now)


def _fill(site: Site, appliance: Appliance, templates: _Templates, appliances: int, over: int) -> None:
    _multiply(
        site,
        f"generate_series(1, {appliances // APPLIANCES_A_SITE}) AS n",
        name="'Store ' || n",
        jurisdiction=_JURISDICTION,
        time_zone=_ZONE,
        leak_rate_method=_METHOD,
    )
    others = f"generate_series(0, {appliances - 2}) AS n"
    _multiply(
        appliance,
        others,
        name="'Rack ' || n",
        site_id=f"{site.pk + 1} + n / {APPLIANCES_A_SITE}",
        full_charge_mg=_CHARGE,
        category=_CATEGORY,
        refrigerant=_REFRIGERANT,
    )
    _multiply(appliance.holder, others, appliance_id=f"{appliance.pk + 1} + n")
    _copy_history(Site)
    _copy_history(Appliance)
    a_visit = f"{others} CROSS JOIN generate_series(0, {VISITS - 1}) AS visit"
    filed = _events(templates.addition, a_visit, days_ago="30 + (n * 7919 + visit * 151) % 700")
    _multiply(templates.addition.leak_inspection, filed, event_id="filed.id")
    _added(
        templates.addition, filed.replace("WHERE", "WHERE e.id % 2 = 0 AND"), "(1 + filed.id % 3) * 200000"
    )
    _leak_of_late(templates, over)
    of_charge = f"generate_series(0, {appliances // 100 - 1}) AS n"
    stated = _events(templates.charging, of_charge, days_ago="100 + n % 100", appliance="n * 97")
    details = "jsonb_set(t.details, '{full_charge_mg}', to_jsonb(filed.full_charge_mg * 9 / 10))"
    _multiply(templates.charging.statements.get(), stated, event_id="filed.id", details=details)


@contextmanager
def _foreign_keys_checked_at_once() -> Iterator[None]:
    """Check foreign keys at the end, in one go, instead of row by row: millions of single looks take minutes."""
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT conrelid::regclass::text, quote_ident(conname), pg_get_constraintdef(oid) "
            "FROM pg_constraint WHERE contype = 'f' AND connamespace = current_schema()::regnamespace"
        )
        keys = cursor.fetchall()
        for table, name, _ in keys:
            cursor.execute(f"ALTER TABLE {table} DROP CONSTRAINT {name}")
    yield
    with connection.cursor() as cursor:
        for table, name, definition in keys:
            cursor.execute(f"ALTER TABLE {table} ADD CONSTRAINT {name} {definition}")


def _file_templates(admin: User, appliance: Appliance) -> _Templates:
    first_on = datetime.datetime.now(datetime.UTC).date() - datetime.timedelta(days=1000)

    def on(days: int) -> str:
        return (first_on + datetime.timedelta(days=days)).isoformat()

    addition = file(admin, appliance, on(0), added=[("1", None)], inspected=True)
    finding = file(admin, appliance, on(1), added=[("1", "A")], found=["A"])
    tests = [(INITIAL, leak(appliance)), (FOLLOW_UP, leak(appliance))]
    mending = file(admin, appliance, on(2), repaired=[leak(appliance)], passed=tests)
    charge = {"full_charge_mg": pounds("90").mass_mg, "method": "measurement"}
    charging = file(admin, appliance, on(3), stated=[(StatementKind.FULL_CHARGE_CHANGE, charge)])
    return _Templates(addition, finding, mending, charging)


def _leak_of_late(templates: _Templates, over: int) -> None:
    """A leak each, the addition for it, and the mending of every other one."""
    newest = Appliance.objects.latest("pk").pk
    finding, mending = templates.finding, templates.mending
    rows = f"generate_series(0, {over - 1}) AS n"
    _multiply(leak(finding.appliance), rows, appliance_id=f"{newest} - n")
    filed = _events(finding, rows, days_ago="2 + n % 30")
    _multiply(finding.leak_inspection, filed, event_id="filed.id")
    _multiply(finding.leak_findings.get(), filed, event_id="filed.id", leak_id="filed.leak_id")
    mass_mg = "filed.full_charge_mg * (CASE WHEN filed.id % 10 = 0 THEN 4 ELSE 1 END) / 3"
    _added(finding, filed, mass_mg, leak_id="filed.leak_id")
    mended = _events(mending, f"generate_series(0, {over - 1}, 2) AS n", days_ago="1 + n % 30")
    for template in (mending.repairs.get(), *mending.verification_tests.all()):
        _multiply(template, mended, event_id="filed.id", leak_id="filed.leak_id")


def _events(event: ServiceEvent, rows: str, *, days_ago: str, appliance: str = "n") -> str:
    """File events like the template; return them as a table ``filed``, with what hangs on their appliances."""
    newest = ServiceEvent.objects.latest("pk").pk
    _multiply(
        event,
        rows,
        submission_id="gen_random_uuid()",
        appliance_id=f"{Appliance.objects.latest('pk').pk} - {appliance}",
        happened_on=f"current_date - ({days_ago})",
        filed_at=f"now() - interval '1 day' * ({days_ago})",
    )
    return f"""(
        SELECT e.id, e.happened_on, h.id AS holder_id, a.refrigerant, a.full_charge_mg, l.id AS leak_id
        FROM jobs_serviceevent AS e JOIN jobs_appliance AS a ON a.id = e.appliance_id
        JOIN jobs_holder AS h ON h.appliance_id = a.id LEFT JOIN jobs_leak AS l ON l.appliance_id = a.id
        WHERE e.id > {newest} AND e.id <= {ServiceEvent.objects.latest("pk").pk}) AS filed"""


def _added(event: ServiceEvent, filed: str, mass_mg: str, **columns: str) -> None:
    """An addition like the template's in each of some events."""
    _multiply(
        event.transfers.get(),
        filed,
        event_id="filed.id",
        to_holder_id="filed.holder_id",
        refrigerant="filed.refrigerant",
        happened_on="filed.happened_on",
        mass_mg=mass_mg,
        **columns,
    )


def _multiply(template: Model, rows: str, **columns: str) -> None:
    """Insert a row like the template for each of ``rows``, with some columns as SQL says."""
    fields = [field.column for field in template._meta.concrete_fields if not field.primary_key]
    values = ", ".join(f"({columns[name]})" if name in columns else f't."{name}"' for name in fields)
    names = ", ".join(f'"{name}"' for name in fields)
    table = template._meta.db_table
    with connection.cursor() as cursor:
        cursor.execute(
            f'INSERT INTO "{table}" ({names}) SELECT {values} FROM "{table}" AS t CROSS JOIN {rows} '
            f"WHERE t.id = {template.pk}"
        )


def _copy_history(model: type[Model]) -> None:
    """Give each row of a register the account of its registration that the template has."""
    columns = [field.column for field in model._meta.concrete_fields]
    history = model.history.model._meta.db_table
    rest = [
        field.column
        for field in model.history.model._meta.concrete_fields
        if field.column not in columns and field.column != "history_id"
    ]
    names = ", ".join(f'"{name}"' for name in (*columns, *rest))
    values = ", ".join([*(f't."{name}"' for name in columns), *(f'h."{name}"' for name in rest)])
    with connection.cursor() as cursor:
        cursor.execute(
            f"INSERT INTO {history} ({names}) SELECT {values} FROM {model._meta.db_table} AS t, "
            f"(SELECT * FROM {history} ORDER BY history_id LIMIT 1) AS h WHERE t.id <> h.id"
        )
