"""The demo firm, loaded once a module and rolled back after it."""

from collections.abc import Iterator

import pytest
from pytest_django import DjangoDbBlocker

from portal.accounts.models import Role, User
from tests.demo_firm import loaded


@pytest.fixture(scope="module")
def demo_firm(django_db_setup: None, django_db_blocker: DjangoDbBlocker) -> Iterator[None]:
    """The demo firm as of 25 November 2026."""
    with loaded(django_db_blocker):
        yield


@pytest.fixture
def officer(demo_firm: None, db: None) -> User:
    """The demo's compliance officer."""
    return User.objects.get(groups__name=Role.COMPLIANCE_OFFICER)
