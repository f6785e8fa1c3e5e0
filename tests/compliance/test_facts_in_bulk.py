"""Facts read for many appliances at once are those that each alone gives."""

from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from compliance.selectors.facts import appliance_facts, as_registered
from compliance.selectors.facts_in_bulk import facts_in_bulk
from jobs.models import Appliance
from tests.demo_firm import NOW

APPLIANCES = Appliance.objects.select_related("site").order_by("pk")


@pytest.mark.parametrize("days", [0, 40, 700])
def test_bulk_facts_are_those_of_each_appliance(demo_firm: None, db: None, days: int) -> None:
    known_at = NOW - timedelta(days=days)

    together = list(facts_in_bulk(APPLIANCES, known_at, batch=7))

    assert len(together) == Appliance.objects.count()
    for one in together:
        registered = as_registered(
            Appliance.objects.select_related("site").get(pk=one.appliance.pk), known_at
        )
        described, facts = appliance_facts(registered, known_at)
        assert (one.described, one.facts) == (described, facts)
        assert one.registered.site.jurisdiction == registered.site.jurisdiction


def test_queries_don_t_grow_with_the_appliances(demo_firm: None, db: None) -> None:
    with CaptureQueriesContext(connection) as few:
        list(facts_in_bulk(APPLIANCES[:5], NOW))
    with CaptureQueriesContext(connection) as many:
        list(facts_in_bulk(APPLIANCES, NOW))

    assert len(many) <= len(few) + 2
