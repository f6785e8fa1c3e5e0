"""No bulk write passes by the registers' history.

``QuerySet.update``, ``bulk_create`` and ``bulk_update`` send no signal, so the history of a
register would miss what they write. Filed records have no history: their own querysets and
triggers refuse every change.
"""

import ast

import pytest
from django.apps import apps

from tests.architecture.source_tree import ROOMS, modules

BULK = {"update", "bulk_create", "bulk_update", "abulk_create", "abulk_update", "aupdate"}
# Modules whose sets of rows have no model's name in sight; what they write is derived or a queue, and has no history.
WRITERS_OF_OTHER_ROWS = (
    "compliance/services/kept_answers.py",  # leak rates and obligations, rebuilt from the records
    "compliance/services/outbox.py",  # the queues of messages
    "compliance/services/reminders/",  # the queue of reminders
    "jobs/services/event_rows.py",  # the rows of a filed record, inserted once
)
OWN_APPS = ("accounts", "jobs", "compliance")


def _kept_models():
    models = [model for app in OWN_APPS for model in apps.get_app_config(app).get_models()]
    return {model.__name__ for model in models if hasattr(model, "history")}


def _chain(node):
    """Return the names of an expression such as Site.objects.filter(…).update, from its root on."""
    names = []
    while True:
        if isinstance(node, ast.Call):
            node = node.func
        elif isinstance(node, ast.Attribute):
            names.append(node.attr)
            node = node.value
        else:
            names.append(node.id if isinstance(node, ast.Name) else "?")
            return names[::-1]


def bulk_writes(tree, kept):
    """Yield (line, expression) of each bulk write on a kept model, or on a set of rows of an unknown one."""
    for node in ast.walk(tree):
        if not (
            isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute) and node.func.attr in BULK
        ):
            continue
        root, *rest = _chain(node.func)
        makes_a_query = (
            isinstance(node.func.value, ast.Call) or "objects" in rest or node.func.attr != "update"
        )
        is_model = root[:1].isupper() and "objects" in rest
        if makes_a_query and (not is_model or root in kept):
            yield node.lineno, ast.unparse(node)[:100]


def test_there_are_models_to_keep():
    assert {"Customer", "Site", "Appliance", "Technician", "Cylinder"} <= _kept_models()


def test_no_bulk_write_on_a_kept_model():
    found = [
        (path, *write)
        for path, _, tree in modules(*ROOMS)
        if not path.startswith(WRITERS_OF_OTHER_ROWS)
        for write in bulk_writes(tree, _kept_models())
    ]

    assert found == []


@pytest.mark.parametrize(
    ("source", "is_found"),
    [
        ("Site.objects.filter(pk=1).update(name='x')", True),
        ("Site.objects.bulk_create(sites)", True),
        ("customer.sites.filter(pk=1).update(name='x')", True),
        ("rows.bulk_update(sites, ['name'])", True),
        ("Reminder.objects.filter(pk=1).update(state='sent')", False),
        ("context.update(name='x')", False),
        ("self.fields['name'].widget.attrs.update(size=3)", False),
    ],
)
def test_the_scan_tells_them_apart(source, is_found):
    assert bool(list(bulk_writes(ast.parse(source), {"Site"}))) is is_found
