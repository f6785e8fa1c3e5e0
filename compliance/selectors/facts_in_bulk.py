"""The facts of many appliances in a fixed number of queries a chunk, equal to what each alone would give."""

import datetime
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass

from django.db.models import BigIntegerField, QuerySet
from django.db.models.functions import Coalesce

from compliance.rulebook import facts as rulebook
from compliance.selectors.facts import describe, facts_of, in_order
from compliance.selectors.filed_facts import filed_facts
from compliance.selectors.visit_rows import with_rows
from compliance.selectors.visits import visit_of
from jobs.models import Appliance, CaseFiling, ServiceEvent, Site
from jobs.selectors.case_filings import LEGAL_ORDER, filings_standing
from jobs.selectors.events import events_standing
from jobs.selectors.history import as_known

CHUNK = 500


@dataclass(frozen=True)
class ApplianceFacts:
    """One appliance: as in the register now, as it stood at the instant asked about, its facts and its events."""

    appliance: Appliance
    registered: Appliance
    described: rulebook.Appliance
    facts: list[rulebook.Fact]
    events: list[ServiceEvent]


def facts_in_bulk(
    appliances: QuerySet[Appliance], known_at: datetime.datetime, chunk: int = CHUNK
) -> Iterator[ApplianceFacts]:
    """Yield every appliance of a query with its facts, in the query's order.

    Args:
        appliances: with ``site`` selected along.
        known_at: only what was on record at this instant counts.
        chunk: how many are read at a time.
    """
    batch: list[Appliance] = []
    for appliance in appliances.iterator(chunk_size=chunk):
        batch.append(appliance)
        if len(batch) == chunk:
            yield from _of(batch, known_at)
            batch = []
    yield from _of(batch, known_at)


def _of(appliances: list[Appliance], known_at: datetime.datetime) -> Iterator[ApplianceFacts]:
    then = {row.pk: row for row in as_known(Appliance, known_at, ids={one.pk for one in appliances})}
    sites_then = {row.pk: row for row in as_known(Site, known_at, ids={one.site_id for one in appliances})}
    visits: defaultdict[int, list[ServiceEvent]] = defaultdict(list)
    standing = events_standing(known_at).filter(appliance__in=appliances)
    in_legal_order = standing.order_by(
        "happened_on", Coalesce("original", "id", output_field=BigIntegerField())
    )
    for event in with_rows(in_legal_order.select_related("technician", "certification")):
        visits[event.appliance_id].append(event)
    filings: defaultdict[int, list[CaseFiling]] = defaultdict(list)
    for filing in filings_standing(known_at).filter(appliance__in=appliances).order_by(*LEGAL_ORDER):
        filings[filing.appliance_id].append(filing)
    for appliance in appliances:
        registered, events = then.get(appliance.pk, appliance), visits[appliance.pk]
        registered.site = sites_then.get(appliance.site_id, appliance.site)
        visited = facts_of(visit_of(event) for event in events)
        facts = in_order(visited, filed_facts(filings[appliance.pk]))
        yield ApplianceFacts(appliance, registered, describe(registered), facts, events)
