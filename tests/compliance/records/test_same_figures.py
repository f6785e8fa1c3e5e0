"""The page of a visit and its printed service record hold the same figures, and those are the ledger's."""

import re
from datetime import timedelta
from decimal import Decimal

import pytest
import time_machine
from django.test import Client
from django.urls import reverse

from compliance.selectors.event_record import whole_events
from compliance.selectors.service_record import service_record
from compliance.services.records.printing import service_record_pdf
from jobs.models import Appliance, Cylinder, ServiceEvent, Transfer
from jobs.services.events import service_event_amend
from tests import people
from tests.compliance.reports.read_back import (
    PARAGRAPH,
    TABLE,
    Block,
    bare,
    page_blocks,
    pdf_blocks,
    spaced,
)
from tests.factories import FILED_AT, CylinderFactory, charged, file_event, recovered, submission

#: Where rows of what was moved name refrigerant, mass as typed, and mass in pounds and kilograms.
FIGURES = slice(2, 5)


@pytest.fixture(params=["filed", "amended"])
def visit(request: pytest.FixtureRequest, chiller: Appliance, supply: Cylinder) -> ServiceEvent:
    """Two additions and a removal on one visit, over the threshold; or what takes its place."""
    moved = (charged(supply, "7 lb"), charged(supply, "1.25 kg"), recovered(CylinderFactory(), "14.5 oz"))
    first = file_event(chiller, transfers=moved).event
    if request.param == "filed":
        return first
    anew = submission(
        chiller, technician=first.technician, transfers=(charged(supply, "9.125 lb"), *moved[2:])
    )
    return service_event_amend(
        by=people.officer(),
        event=first,
        submission=anew,
        reason="Misread scale",
        filed_at=FILED_AT + timedelta(hours=1),
    ).event


def moved(blocks: list[Block]) -> list[list[str]]:
    """Refrigerant and masses of each row of what was moved."""
    (table,) = [block for block in blocks if block.kind == TABLE and bare(block.rows[0][0]) == "Direction"]
    return [[bare(cell) for cell in row[FIGURES]] for row in table.rows[1:] if "Reversal" not in row[0]]


def totals(blocks: list[Block]) -> list[str]:
    return [spaced(block.text) for block in blocks if spaced(block.text).startswith("In all")]


def rates(blocks: list[Block]) -> list[tuple[str, ...]]:
    """(percent, side and threshold, arithmetic) of each leak rate; the arithmetic is the paragraph after it."""
    said = "¶".join(spaced(block.text) for block in blocks if block.kind == PARAGRAPH)
    found = re.findall(r"(?i)([\d.]+ %)[ ¶]((?:not )?over the [\d.]+ % threshold)[^¶]*¶([^¶]+)", said)
    return [(percent, side.lower(), bare(because)) for percent, side, because in found]


def clocks(blocks: list[Block]) -> list[str]:
    """The days by which what the visit started is due."""
    texts = [spaced(block.text) for block in blocks if block.kind == PARAGRAPH]
    return [
        day for text in texts for day in re.findall(r"[Dd]ue by (?:[A-Z][a-z]+, )?(\d{4}-\d\d-\d\d)", text)
    ]


def test_page_print_and_ledger_tell_the_same(visit: ServiceEvent, client: Client) -> None:
    client.force_login(people.office_admin())
    with time_machine.travel(FILED_AT + timedelta(hours=2), tick=False):
        page = page_blocks(client.get(reverse("event-detail", args=[visit.pk])).text)
    printed = pdf_blocks(service_record_pdf(service_record(whole_events().get(pk=visit.pk))))

    rows = Transfer.objects.filter(event=visit, reverses=None).order_by("position")
    added_mg = sum(row.mass_mg for row in rows if row.to_holder.appliance_id)
    removed_mg = sum(row.mass_mg for row in rows if row.from_holder.appliance_id)
    assert moved(page) == moved(printed)
    assert [row[2] for row in moved(page)] == [bare(in_both(row.mass_mg)) for row in rows]
    expected = f"In all {in_both(added_mg)} of R-410A added, {in_both(removed_mg)} removed."
    assert totals(page) == totals(printed) == [expected]
    assert rates(page) == rates(printed)
    assert len(rates(page)) == 1
    assert clocks(page) == clocks(printed)
    assert clocks(page)


# Source: 1 lb = 0.45359237 kg exactly (NIST Handbook 44, appendix C).
def in_both(mass_mg: int) -> str:
    return f"{mass_mg / Decimal('453592.37'):.3f} lb ({Decimal(mass_mg).scaleb(-6):.3f} kg)"
