"""The page of a filing and its print hold the same evidence and the same case, line by line."""

import pytest
from django.test import Client
from django.urls import reverse

from jobs.models import Appliance
from portal.accounts.models import User
from tests.compliance.filings.acts import file_case
from tests.compliance.firm import over_the_threshold
from tests.compliance.reports.read_back import HEADING, ITEM, TABLE, Block, bare, page_blocks, pdf_blocks

SECTIONS = ("Whatwasfiled", "Thecaseonthatday")
Lines = dict[str, list[tuple[str, str]]]


def lines(blocks: list[Block]) -> Lines:
    """(label, text) of each line by its section: terms on the page, rows of two cells in print."""
    found: Lines = {name: [] for name in SECTIONS}
    heading, items = "", []
    for block in blocks:
        if block.kind == HEADING:
            heading, items = bare(block.text), []
        elif block.kind == TABLE and heading in found:
            found[heading] += [(bare(row[0]), bare(row[1])) for row in block.rows]
        elif block.kind == ITEM and heading in found:
            items.append(bare(block.text))
            if len(items) % 2 == 0:
                found[heading].append((items[-2], items[-1]))
    return found


@pytest.mark.parametrize(
    ("kind", "on"),
    [
        ("extension", "2026-03-12"),
        ("retrofit_or_retirement_elected", "2026-03-12"),
        ("automatic_leak_detection", "2026-03-12"),
        ("purged_and_destroyed", "2026-03-12"),
    ],
)
def test_page_and_print_tell_the_same(
    admin: User, chiller: Appliance, client: Client, kind: str, on: str
) -> None:
    visit = over_the_threshold(admin, chiller, "2026-03-02")
    rests_on = {"addition_visit": visit.reference} if kind == "purged_and_destroyed" else {}
    filing = file_case(admin, chiller, kind, on, **rests_on)
    client.force_login(admin)

    page = lines(page_blocks(client.get(reverse("filing-detail", args=[filing.pk])).text))
    printed = lines(pdf_blocks(client.get(reverse("filing-pdf", args=[filing.pk])).content))

    # The print names the paragraph under its heading.
    page["Whatwasfiled"] = [line for line in page["Whatwasfiled"] if line[0] != "Paragraph"]
    assert page == printed
    assert len(printed["Whatwasfiled"]) > 1
    said = " ".join(text for _, text in printed["Thecaseonthatday"])
    # 12 lb of 100 lb.
    assert "100.000lb" in said
    assert "12.00%on2026-03-02" in said
