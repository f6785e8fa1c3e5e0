"""Every table of ours stands in Django's administration, to be read there and never written."""

from django.apps import apps
from django.contrib.admin import ModelAdmin, site

from portal.accounts.models import User

OWN_APPS = ("accounts", "jobs", "compliance")

# Models that the administration leaves out, each with the reason; histories are told on the pages of their registers.
LEFT_OUT: dict[str, str] = {}
# Models that a superuser may write there.
WRITTEN = {User: "a superuser opens and closes accounts"}


def _own_models():
    models = [model for app in OWN_APPS for model in apps.get_app_config(app).get_models()]
    return [model for model in models if not hasattr(model, "history_id")]


def test_every_model_is_registered_or_left_out_with_a_reason():
    missing = {model.__name__ for model in _own_models() if model not in site._registry}

    assert missing == set(LEFT_OUT)


def test_the_administration_writes_no_table_of_ours_but_users():
    writing = [
        model
        for model in _own_models()
        for row in [site._registry.get(model)]
        if row and (type(row).has_change_permission is ModelAdmin.has_change_permission)
    ]

    assert writing == list(WRITTEN)
    assert not any(
        site._registry[model].has_delete_permission(None) or site._registry[model].has_add_permission(None)
        for model in _own_models()
        if model not in WRITTEN
    )
