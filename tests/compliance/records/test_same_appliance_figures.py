"""The page of an appliance and its printed record hold the same figures, and those are the ledger's."""

import re
from datetime import timedelta
from decimal import Decimal
from itertools import pairwise

import pytest
import time_machine
from django.test import Client
from django.urls import reverse

from compliance.selectors.appliance_record import appliance_record
from compliance.services.records.printing import appliance_record_pdf
from jobs.models import Appliance, Transfer
from portal.accounts.models import User
from tests.compliance.firm import add_appliance, amend, day, file, leak, noon, over_the_threshold
from tests.compliance.reports.read_back import ITEM, TABLE, Block, bare, page_blocks, pdf_blocks, spaced

ON = day("2026-09-15")
BOTH = r"([\d.]+) lb \(([\d.]+) kg\)"


@pytest.fixture
def chiller(admin: User) -> Appliance:
    """100 lb of R-410A that lost more than it held, once amended, with clocks that ended and clocks that run."""
    chiller = add_appliance(admin)
    over_the_threshold(admin, chiller, "2026-03-02")
    file(admin, chiller, "2026-03-10", repaired=[leak(chiller)], removed=[("1.5", None)])
    mistaken = file(admin, chiller, "2026-08-03", added=[("90", None)])
    amend(admin, mistaken, "2026-08-03", filed_at=noon(day("2026-08-04")), added=[("9.25", None)])
    over_the_threshold(admin, chiller, "2026-09-01")
    return chiller


def read(blocks: list[Block]) -> str:
    """All that is said, with a mark between the blocks."""
    return "¶".join(spaced(block.text) for block in blocks)


def rates_on_page(said: str) -> list[tuple[str, ...]]:
    found = re.findall(r"(\d{4}-\d\d-\d\d) (SE-\d+) [^¶]*? ([\d.]+ %)(?:, over [\d.]+ %)?¶([^¶]+)", said)
    return sorted((on, event, percent, bare(because)) for on, event, percent, because in found)


def rates_in_print(blocks: list[Block]) -> list[tuple[str, ...]]:
    for block in blocks:
        if block.kind == TABLE and bare(block.rows[0][-1]) == "Arithmeticandparagraph":
            return sorted(
                (
                    bare(on),
                    bare(event),
                    spaced(rate).partition("%")[0] + "%",
                    bare(because.partition("method.")[2]),
                )
                for on, event, rate, because in block.rows[1:]
            )
    return []


def owed(said: str) -> list[tuple[str, str]]:
    """(what, day) of each clock that has a day."""
    found = re.findall(r"¶([A-Z][a-z -]+?) ?:? due (?:by )?(\d{4}-\d\d-\d\d)", said)
    return sorted(found)


def test_page_print_and_ledger_tell_the_same(chiller: Appliance, admin: User, client: Client) -> None:
    client.force_login(admin)
    now = noon(ON)
    with time_machine.travel(now, tick=False):
        page = page_blocks(client.get(reverse("appliance-detail", args=[chiller.pk])).text)
    record = appliance_record(chiller, as_of=ON, known_at=now + timedelta(seconds=1))
    printed = pdf_blocks(appliance_record_pdf(record, printed_by=str(admin), printed_at=now))
    on_page, in_print = read(page), read(printed)

    rows = Transfer.objects.filter(reverses=None, reversed_by=None)
    into_mg = sum(row.mass_mg for row in rows.filter(to_holder__appliance=chiller))
    out_mg = sum(row.mass_mg for row in rows.filter(from_holder__appliance=chiller))
    books = [(block.text, after.text) for block, after in pairwise(page) if block.kind == ITEM]
    (held,) = [spaced(text) for name, text in books if spaced(name) == "Holds by the books"]
    assert re.findall(BOTH, held)[0] == both(into_mg - out_mg)
    assert re.findall(BOTH, held)[1] == both(into_mg - out_mg - chiller.full_charge_mg)
    assert re.findall(BOTH, in_print.partition("Holds by the books¶")[2])[:2] == re.findall(BOTH, held)

    added_mg = sum(row.mass_mg for row in rows.filter(to_holder__appliance=chiller, event__isnull=False))
    (total,) = re.findall(rf"In all {BOTH} of R-410A added, {BOTH} removed", in_print)
    assert total == (*both(added_mg), *both(out_mg))

    assert rates_on_page(on_page) == rates_in_print(printed)
    assert len(rates_on_page(on_page)) == 3
    assert owed(on_page) == owed(in_print)
    assert len(owed(on_page)) == 2


# Source: 1 lb = 0.45359237 kg exactly (NIST Handbook 44, appendix C).
def both(mass_mg: int) -> tuple[str, str]:
    return f"{mass_mg / Decimal('453592.37'):.3f}", f"{Decimal(mass_mg).scaleb(-6):.3f}"
