"""A large firm as rows, multiplied inside PostgreSQL from one of each that was registered and filed as ever.

Chains of hashes are left out: nothing that is measured here reads them.
"""

# ruff: noqa: S608 -- the SQL is put together from what stands in this file and in the models

import datetime

from django.db import connection
from django.db.models import Model

from jobs.models import Appliance, ServiceEvent, Site
from tests import people
from tests.compliance.firm import add_appliance, add_customer, add_site, file

APPLIANCES_A_SITE = 40
VISITS = 5

# Of a hundred sites: 60 under federal law alone, 20 in California, 12 in the European Union, 8 in Great Britain.
_JURISDICTION = """CASE WHEN n % 100 < 60 THEN 'us-federal' WHEN n % 100 < 80 THEN 'us-california'
    WHEN n % 100 < 92 THEN 'eu' ELSE 'uk' END"""
_ZONE = """CASE WHEN n % 100 < 60 THEN (ARRAY['America/Chicago', 'America/New_York', 'America/Denver'])[1 + n % 3]
    WHEN n % 100 < 80 THEN 'America/Los_Angeles' WHEN n % 100 < 92 THEN 'Europe/Berlin' ELSE 'Europe/London' END"""
_REFRIGERANT = "(ARRAY['R-410A', 'R-404A', 'R-22', 'R-134a', 'R-448A'])[1 + n % 5]"
_CATEGORY = "(ARRAY['comfort_cooling', 'commercial_refrigeration'])[1 + n % 2]"
_CHARGE = "(20 + n * 7919 % 400) * 453592"


def make_fleet(appliances: int, over: int) -> None:
    """Fill the database.

    Args:
        appliances: how many, with ``VISITS`` visits each in the last two years: inspections and small additions.
        over: how many of them had a third of their charge added within the last 30 days.
    """
    admin = people.office_admin()
    site = add_site(admin, add_customer(admin))
    appliance = add_appliance(admin, site=site, refrigerant="R-404A", category="commercial_refrigeration")
    on = datetime.datetime.now(datetime.UTC).date() - datetime.timedelta(days=1000)
    event = file(admin, appliance, on.isoformat(), added=[("1", None)], inspected=True)

    _multiply(
        site,
        f"generate_series(1, {appliances // APPLIANCES_A_SITE}) AS n",
        name="'Store ' || n",
        jurisdiction=_JURISDICTION,
        time_zone=_ZONE,
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
    days_ago = "30 + (n * 7919 + visit * 151) % 700"
    _visits(event, a_visit, days_ago=days_ago, mass_mg="(1 + filed.id % 3) * 200000", every_nth=2)
    of_late = f"generate_series(0, {over - 1}) AS n"
    _visits(event, of_late, days_ago="1 + n % 30", mass_mg="filed.full_charge_mg / 3", every_nth=1)
    with connection.cursor() as cursor:
        cursor.execute("ANALYZE")


def _visits(event: ServiceEvent, rows: str, *, days_ago: str, mass_mg: str, every_nth: int) -> None:
    """Visits with an inspection each; every nth with an addition of a mass by the full charge."""
    newest = ServiceEvent.objects.latest("pk").pk
    _multiply(
        event,
        rows,
        submission_id="gen_random_uuid()",
        appliance_id=f"{Appliance.objects.latest('pk').pk} - n",
        happened_on=f"current_date - ({days_ago})",
        filed_at=f"now() - interval '1 day' * ({days_ago})",
    )
    filed = f"""(
        SELECT e.id, e.happened_on, h.id AS holder_id, a.refrigerant, a.full_charge_mg FROM jobs_serviceevent AS e
        JOIN jobs_appliance AS a ON a.id = e.appliance_id JOIN jobs_holder AS h ON h.appliance_id = a.id
        WHERE e.id > {newest}) AS filed"""
    _multiply(event.leak_inspection, filed, event_id="filed.id")
    _multiply(
        event.transfers.get(),
        filed.replace("WHERE", f"WHERE e.id % {every_nth} = 0 AND"),
        event_id="filed.id",
        to_holder_id="filed.holder_id",
        refrigerant="filed.refrigerant",
        happened_on="filed.happened_on",
        mass_mg=mass_mg,
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
