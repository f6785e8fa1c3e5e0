"""Purged refrigerant that filings state as destroyed, by the visit whose addition replaced it."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from django.db.models import BigIntegerField, F
from django.db.models.functions import Coalesce

from compliance.rulebook.filings.details import Details
from compliance.rulebook.filings.purge_conditions import NOTICE
from compliance.rulebook.filings.purge_specs import NOTICE_DUE
from compliance.rulebook.filings.specs import FilingKind
from compliance.rulebook.jurisdictions.docket import after
from compliance.rulebook.tables import load_tables
from jobs.models import CaseFiling, ServiceEvent
from jobs.models.events import event_id_of
from jobs.selectors.among import AmongIds


@dataclass(frozen=True)
class Purge:
    """What a filing says was purged and destroyed, in milligrams, of what one visit's addition replaced.

    ``line_id`` names the visit by the first record of its line, whichever amendment of it the filing was made by.
    """

    filing: CaseFiling
    line_id: int
    mass_mg: int


def purges(filings: Iterable[CaseFiling]) -> list[Purge]:
    """What those of the filings that state a purge say, in their order; one query where there are any."""
    stating = [row for row in filings if row.kind == FilingKind.PURGED_AND_DESTROYED]
    details = [Details(row.details) for row in stating]
    named = [event_id_of(one.text("addition_visit")) for one in details]
    lines = _lines({pk for pk in named if pk is not None}) if named else {}
    return [
        Purge(row, lines[pk], one.mass_mg("destroyed") or 0)
        for row, one, pk in zip(stating, details, named, strict=True)
        if pk in lines
    ]


def purged_by_line(purged: Iterable[Purge]) -> Mapping[int, int]:
    """Milligrams by the visit, added up."""
    total: defaultdict[int, int] = defaultdict(int)
    for one in purged:
        total[one.line_id] += one.mass_mg
    return total


def notice_still_owed(filing: CaseFiling) -> str:
    """Until when the agency has to be told of the first purge left out, where the filing says that it isn't yet.

    Source: 40 CFR 82.157(m)(5) and 84.106(m)(5).
    """
    details, rules = Details(filing.details), filing.case.get("rules", ())
    first_on = details.day("first_used_on")
    if (
        filing.kind != FilingKind.PURGED_AND_DESTROYED
        or first_on is None
        or details.text("notice") != NOTICE_DUE
    ):
        return ""
    rows = (load_tables().find(rule, NOTICE, on=filing.happened_on) for rule in rules)
    return " ".join(
        f"The notice to the agency is due by {after(first_on, row)} ({row.citation}). Amend this once it is sent."
        for row in rows
        if row is not None
    )


def _lines(event_ids: set[int]) -> dict[int, int]:
    first = Coalesce(F("original"), F("pk"), output_field=BigIntegerField())
    rows = ServiceEvent.objects.filter(AmongIds("pk", event_ids)).annotate(line=first).order_by()
    return dict(rows.values_list("pk", "line"))
