"""Every page names the permission it asks for, or stands on a list here."""

import pytest
from django.contrib.auth.mixins import PermissionRequiredMixin
from django.contrib.auth.models import Permission
from django.urls import URLPattern, get_resolver

# Open to all the world.
PUBLIC = {"health", "task-health", "sign-in", "favicon", "calendar-feed", "reminder-acknowledge-link"}
# Open to everyone who is signed in: they show a person what is the person's own.
SIGNED_IN = {"home", "sign-out", "password-change"}


def _patterns(resolver, namespace=""):
    for entry in resolver.url_patterns:
        if isinstance(entry, URLPattern):
            yield namespace, entry
        elif entry.namespace != "admin":
            # Django's administration asks for permissions by itself.
            yield from _patterns(entry, entry.namespace or namespace)


PAGES = [entry for _, entry in _patterns(get_resolver())]


def _view_class(entry):
    return getattr(entry.callback, "view_class", None)


def _permissions(entry):
    named = getattr(_view_class(entry), "permission_required", None)
    return (named,) if isinstance(named, str) else tuple(named or ())


def test_every_page_has_a_name_of_its_own():
    names = [entry.name for entry in PAGES]

    assert None not in names
    assert len(names) == len(set(names))


def test_the_lists_name_pages_that_exist():
    assert {entry.name for entry in PAGES} >= PUBLIC | SIGNED_IN


@pytest.mark.parametrize("entry", PAGES, ids=lambda entry: entry.name)
def test_a_page_names_its_permission_or_is_on_a_list(entry):
    is_open = entry.callback.__dict__.get("login_required") is False

    assert is_open is (entry.name in PUBLIC)
    if entry.name not in PUBLIC | SIGNED_IN:
        assert issubclass(_view_class(entry), PermissionRequiredMixin)
        assert _permissions(entry)


@pytest.mark.django_db
def test_every_permission_that_a_page_names_exists():
    known = {
        f"{app}.{codename}"
        for app, codename in Permission.objects.values_list("content_type__app_label", "codename")
    }

    assert {permission for entry in PAGES for permission in _permissions(entry)} - known == set()
