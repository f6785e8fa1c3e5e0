"""A browser for each person who opens the registers."""

import pytest
from django.test import Client

from portal.accounts.models import User
from tests import people


def browser_of(user: User) -> Client:
    client = Client()
    client.force_login(user)
    return client


@pytest.fixture
def admin(db: None) -> Client:
    return browser_of(people.office_admin())


@pytest.fixture
def technician(db: None) -> Client:
    return browser_of(people.technician_user())


@pytest.fixture
def officer(db: None) -> Client:
    return browser_of(people.officer())


@pytest.fixture
def stranger(db: None) -> Client:
    return browser_of(people.stranger())
