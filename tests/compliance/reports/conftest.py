"""The demo firm, loaded once a module and rolled back after it."""

from collections.abc import Iterator
from datetime import UTC, datetime

import pytest
from django.db import transaction
from pytest_django import DjangoDbBlocker

from portal.accounts.models import Role, User
from portal.demo.load import load_demo_firm

NOW = datetime(2026, 11, 25, 18, tzinfo=UTC)


@pytest.fixture(scope="module")
def demo_firm(django_db_setup: None, django_db_blocker: DjangoDbBlocker) -> Iterator[None]:
    """The demo firm as of 25 November 2026."""
    with django_db_blocker.unblock(), transaction.atomic():
        load_demo_firm(today=NOW.date(), now=NOW)
        yield
        transaction.set_rollback(True)


@pytest.fixture
def officer(demo_firm: None, db: None) -> User:
    """The demo's compliance officer."""
    return User.objects.get(groups__name=Role.COMPLIANCE_OFFICER)
