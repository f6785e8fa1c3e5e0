"""The facts of many appliances in a fixed number of queries a batch, equal to what each alone would give."""

import datetime
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import chain, islice

from django.db.models import QuerySet

from compliance.rulebook import facts as rulebook
from compliance.selectors.facts import describe, records_of
from jobs.models import Appliance, Customer, Site
from jobs.selectors.history import as_known

BATCH = 500


@dataclass(frozen=True)
class ApplianceFacts:
    """One appliance: as in the register now, as it stood at the instant asked about, and its facts."""

    appliance: Appliance
    registered: Appliance
    described: rulebook.Appliance
    facts: list[rulebook.Fact]


def facts_in_bulk(
    appliances: QuerySet[Appliance], known_at: datetime.datetime, batch: int = BATCH
) -> Iterator[ApplianceFacts]:
    """Yield every appliance of a query with its facts, in the query's order.

    Args:
        appliances: with ``site`` selected along.
        known_at: only what was on record at this instant counts.
        batch: how many are read at a time.
    """
    return chain.from_iterable(facts_in_batches(appliances, known_at, batch))


def facts_in_batches(
    appliances: QuerySet[Appliance], known_at: datetime.datetime, batch: int = BATCH
) -> Iterator[list[ApplianceFacts]]:
    """Yield the same in lists of at most ``batch``, for who reads more of each of them."""
    rows = appliances.iterator(chunk_size=batch)
    while together := list(islice(rows, batch)):
        yield _of(together, known_at)


def _of(appliances: list[Appliance], known_at: datetime.datetime) -> list[ApplianceFacts]:
    then = {row.pk: row for row in as_known(Appliance, known_at, ids={one.pk for one in appliances})}
    sites_then = {row.pk: row for row in as_known(Site, known_at, ids={one.site_id for one in appliances})}
    owners = {site.customer_id for site in sites_then.values()}
    customers_then = {row.pk: row for row in as_known(Customer, known_at, ids=owners)}
    records = records_of([one.pk for one in appliances], known_at)
    together = []
    for appliance in appliances:
        registered = then.get(appliance.pk, appliance)
        site = registered.site = sites_then.get(appliance.site_id, appliance.site)
        if owner := customers_then.get(site.customer_id):
            site.customer = owner
        together.append(
            ApplianceFacts(appliance, registered, describe(registered), records[appliance.pk].facts())
        )
    return together
