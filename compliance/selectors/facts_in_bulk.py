"""The facts of many appliances in a fixed number of queries a chunk, equal to what each alone would give."""

import datetime
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from django.db.models import BigIntegerField, QuerySet
from django.db.models.functions import Coalesce

from compliance.rulebook import facts as rulebook
from compliance.selectors.facts import describe, facts_of
from compliance.selectors.visit_rows import with_rows
from jobs.models import Appliance, ServiceEvent, Site
from jobs.selectors.events import events_standing

CHUNK = 500


@dataclass(frozen=True)
class ApplianceFacts:
    """One appliance: as it stands in the register now, as it stood at the instant asked about, and its facts."""

    appliance: Appliance
    registered: Appliance
    described: rulebook.Appliance
    facts: list[rulebook.Fact]


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
    then = _as_then(Appliance, {appliance.pk for appliance in appliances}, known_at)
    sites_then = _as_then(Site, {appliance.site_id for appliance in appliances}, known_at)
    visits: defaultdict[int, list[ServiceEvent]] = defaultdict(list)
    events = events_standing(known_at).filter(appliance__in=appliances)
    in_legal_order = events.order_by(
        "happened_on", Coalesce("original", "id", output_field=BigIntegerField())
    )
    for event in with_rows(in_legal_order):
        visits[event.appliance_id].append(event)
    for appliance in appliances:
        registered = then.get(appliance.pk, appliance)
        registered.site = sites_then.get(appliance.site_id, appliance.site)
        yield ApplianceFacts(appliance, registered, describe(registered), facts_of(visits[appliance.pk]))


def _as_then(model: type[Any], ids: set[int], known_at: datetime.datetime) -> dict[int, Any]:
    """Rows of a register as they stood at an instant, of those that were in it by then."""
    history = model.history.filter(id__in=ids, history_date__lte=known_at)
    # Later ones take the place of earlier ones.
    return {row.id: row.instance for row in history.order_by("history_date", "history_id")}
