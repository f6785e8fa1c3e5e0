"""Which role may do what: one table, written into the groups after every migrate.

The table is the source: a change made to a role's group by hand lasts until the next migrate.
"""

from collections.abc import Iterator
from typing import Any

from django.apps import AppConfig, apps
from django.contrib.auth.management import create_permissions
from django.contrib.auth.models import Group, Permission

from portal.accounts.models import Role

REGISTERS = (
    "customer",
    "site",
    "appliance",
    "technician",
    "certification",
    "cylinder",
    "recoverymachine",
    "instrument",
)
RECORDS = (
    "serviceevent",
    "stockmovement",
    "transfer",
    "weighlog",
    "fullchargedetermination",
    "cylinderpressurecheck",
    "casefiling",
    "filingattachment",
    "leakratemethodchange",
    "leakratemethodcorrection",
)
CYLINDER_RECORDS = (
    *("cylindermove", "cylinderweighing", "shipmentreceipt", "contamination", "heelremoval"),
    *("requalificationperiod", "requalificationtest", "withdrawal"),
)
# What anyone who handles cylinders files.
HANDLING = ("cylindermove", "cylinderweighing", "contamination", "heelremoval", "cylinderpressurecheck")
# What comes in on paper, and what undoes a record.
OFFICE_RECORDS = ("shipmentreceipt", "requalificationtest", "withdrawal")
LAW = ("obligation", "leakrate", "applianceassessment")


def _each(app: str, verbs: tuple[str, ...], models: tuple[str, ...]) -> Iterator[str]:
    return (f"{app}.{verb}_{model}" for model in models for verb in verbs)


ROLE_PERMISSIONS: dict[Role, frozenset[str]] = {
    Role.OFFICE_ADMIN: frozenset(
        {
            *_each("jobs", ("add", "change", "view"), REGISTERS),
            *_each("jobs", ("view",), (*RECORDS, *CYLINDER_RECORDS)),
            *_each("jobs", ("add",), (*HANDLING, *OFFICE_RECORDS, "stockmovement")),
            "jobs.reconcile_stock",
            "jobs.reverse_stockmovement",
            *_each("jobs", ("add", "view"), ("calibration",)),
            "jobs.add_casefiling",
            *_each("compliance", ("view",), (*LAW, "recorddelivery", "taskrun")),
            "compliance.add_recorddelivery",
            "accounts.add_user",
            "accounts.view_mailbox",
        }
    ),
    Role.TECHNICIAN: frozenset(
        {
            *_each("jobs", ("view",), (*REGISTERS, *RECORDS, *CYLINDER_RECORDS, "calibration")),
            *_each("jobs", ("add",), HANDLING),
            "jobs.add_serviceevent",
            "jobs.add_weighlog",
            *_each("compliance", ("view",), (*LAW, "recorddelivery")),
        }
    ),
    Role.COMPLIANCE_OFFICER: frozenset(
        {
            *_each("jobs", ("view",), (*REGISTERS, *RECORDS, *CYLINDER_RECORDS, "calibration")),
            *_each("jobs", ("add",), (*HANDLING, *OFFICE_RECORDS, "requalificationperiod")),
            "jobs.add_casefiling",
            "jobs.adjust_stock",
            "jobs.amend_casefiling",
            *_each("jobs", ("add", "amend"), ("leakratemethodchange", "leakratemethodcorrection")),
            "jobs.amend_serviceevent",
            "jobs.add_weighlog",
            "jobs.reconcile_stock",
            "jobs.reverse_stockmovement",
            *_each("compliance", ("view",), (*LAW, "recorddelivery", "reminder", "reportrun", "taskrun")),
            *_each("compliance", ("add", "view"), ("reminderplan",)),
            "compliance.add_obligationassignment",
            "compliance.add_recorddelivery",
            "compliance.add_recordpack",
            "compliance.add_reportrun",
            "compliance.change_reminder",
            "accounts.view_mailbox",
        }
    ),
}


def sync_roles(sender: AppConfig, using: str, **kwargs: Any) -> None:
    """Give each role's group exactly the permissions of the table; runs after every migrate."""
    table_apps = {name.split(".")[0] for names in ROLE_PERMISSIONS.values() for name in names}
    for label in sorted(table_apps):
        # Django makes permissions app by app; ours must all exist before they are handed out.
        create_permissions(apps.get_app_config(label), verbosity=0, using=using)
    known = {
        f"{permission.content_type.app_label}.{permission.codename}": permission
        for permission in Permission.objects.using(using)
        .filter(content_type__app_label__in=table_apps)
        .select_related("content_type")
    }
    for role, names in ROLE_PERMISSIONS.items():
        group, _ = Group.objects.using(using).get_or_create(name=role.value)
        group.permissions.set([known[name] for name in sorted(names) if name in known])
