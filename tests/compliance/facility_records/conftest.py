"""Stores about whose leak rate method something is filed."""

import pytest

from tests.compliance.firm import add_appliance, add_customer, add_site, file


@pytest.fixture
def acquired_store(admin):
    """An acquired store, annualizing, with two chillers; 2 lb went into the first on 2 February 2026."""
    return _store(admin, "Acquired store").site


@pytest.fixture
def mistaken_store(admin):
    """Registered as annualizing, though it used the rolling average: 2 lb, then 4 lb into one of two chillers."""
    first = _store(admin, "Corner store")
    file(admin, first, "2026-06-02", added=[("4", None)])
    return first.site


def _store(admin, name):
    """The first chiller of a store with two."""
    site = add_site(admin, add_customer(admin), name)
    first = add_appliance(admin, "Chiller 1", site=site)
    add_appliance(admin, "Chiller 2", site=site)
    file(admin, first, "2026-02-02", added=[("2", None)])
    return first
