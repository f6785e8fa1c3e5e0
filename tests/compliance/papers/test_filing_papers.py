"""Requests, plans and reports on paper: the fields that the paragraphs list, from the records, blanks for the rest."""

import io
import re
from dataclasses import replace
from decimal import Decimal
from functools import partial

import pytest
from django.test import Client
from django.urls import reverse
from pypdf import PdfReader

from compliance.models import Obligation
from compliance.rulebook.filings.specs import FilingKind
from compliance.selectors.papers.bundle import bundle_pieces
from compliance.selectors.papers.filing_paper import filing_paper
from compliance.selectors.papers.kinds import PAPER_KINDS
from compliance.selectors.papers.links import papers_for
from compliance.selectors.papers.parts import FilingPaper
from compliance.selectors.reports.parameters import no_progress
from compliance.services.reports.catalogue import report_type
from compliance.services.reports.pdf import print_content
from jobs.models import Appliance
from portal.accounts.models import User
from tests.compliance.filings.acts import file_case
from tests.compliance.firm import add_appliance, day, file, leak, noon, over_the_threshold
from tests.compliance.reports.asking import answer, pdf_text, printed, question

SLUGS = [paper.slug for paper in PAPER_KINDS.values()]


def paper_of(appliance: Appliance, kind: FilingKind, on: str, year: int | None = None) -> FilingPaper:
    paper = filing_paper(appliance, kind, as_of=day(on), known_at=noon(day(on)), year=year)
    assert paper is not None
    return paper


def answers(paper: FilingPaper) -> dict[str, str]:
    return {line.label: line.in_words for line in paper.lines}


def tables(paper: FilingPaper) -> dict[str, tuple]:
    return {table.name: table.rows for section in paper.sections for table in section.tables}


# Source: 40 CFR 84.106(f)(4): facility and address, owner or operator, leak rate, methods of leak rate and full charge,
# date exceeded, leaks so far, repairs done, reasons, estimate.
def test_a_request_for_more_time_holds_what_the_paragraph_lists(admin: User, chiller: Appliance) -> None:
    over_the_threshold(admin, chiller, "2026-03-02")
    file(admin, chiller, "2026-03-10", repaired=[leak(chiller)])

    paper = paper_of(chiller, FilingKind.EXTENSION, "2026-03-12")

    said = answers(paper)
    assert said["Owner or operator"] == "Larkspur Grocers"
    assert "12 Quarry Road" in said["Address of the facility"]
    assert said["Full charge"].startswith("100.000 lb")
    assert said["How the full charge was determined"] == "Manufacturer's figure"
    assert said["Leak rate exceeded on"] == "2026-03-02"
    assert said["Leak rate"] == "12.00 %"
    assert [row[0] for row in tables(paper)["Leaks found"]] == [day("2026-03-02")]
    assert [row[0] for row in tables(paper)["Work on the appliance"]] == [
        day("2026-03-02"),
        day("2026-03-10"),
    ]
    blank = {line.label for line in paper.lines if line.is_blank}
    assert {"Why the work can’t be done in time", "Work expected to be done by"} <= blank
    assert paper.due_on == day("2026-04-01")
    assert "84.106(f)(4)" in paper.citation


def test_it_names_what_is_missing_and_what_only_a_ground_asks_for(admin: User, chiller: Appliance) -> None:
    over_the_threshold(admin, chiller, "2026-03-02")

    paper = paper_of(chiller, FilingKind.EXTENSION, "2026-03-12")

    assert paper.missing == [
        "Where it stands",
        "Ground",
        "Why the work can’t be done in time",
        "Work expected to be done by",
    ]
    (parts,) = [line for line in paper.lines if line.label == "Parts needed"]
    assert parts.guidance == "Only for: Parts or components are not to be had in time."
    on = day("2026-03-12")
    said = pdf_text(printed("extension-request", question(as_of=on, known_at=noon(on), appliance=chiller)))
    assert f"Still to be filled in by hand: {'; '.join(paper.missing)}" in said


# Source: 40 CFR 82.157(i), 84.106(i): the date of notification. The paragraph doesn't say whose.
def test_a_request_for_more_time_for_a_plan_asks_for_both_dates_of_notification(
    admin: User, chiller: Appliance
) -> None:
    over_the_threshold(admin, chiller, "2026-03-02")
    file_case(admin, chiller, "retrofit_or_retirement_elected", "2026-03-10")
    file_case(admin, chiller, "retrofit_or_retirement_plan", "2026-03-20")

    paper = paper_of(chiller, FilingKind.PLAN_EXTENSION, "2026-06-01")

    assert "Date of notification" in paper.missing
    assert "Owner or operator told of it on" in answers(paper)


def test_a_plan_that_is_owed_since_long_tells_every_leak_since(admin: User, chiller: Appliance) -> None:
    """Two cases, one plan: the leaks of the older case are told too."""
    over_the_threshold(admin, chiller, "2026-03-02")
    file_case(admin, chiller, "retrofit_or_retirement_elected", "2026-03-10")
    over_the_threshold(admin, chiller, "2026-03-25")

    paper = paper_of(chiller, FilingKind.RETROFIT_OR_RETIREMENT_PLAN, "2026-03-28")

    assert [row[0] for row in tables(paper)["Leaks found"]] == [day("2026-03-02"), day("2026-03-25")]


def test_once_filed_it_prints_what_was_filed(admin: User, chiller: Appliance) -> None:
    over_the_threshold(admin, chiller, "2026-03-02")
    filing = file_case(admin, chiller, "extension", "2026-03-12")

    paper = paper_of(chiller, FilingKind.EXTENSION, "2026-03-20")

    assert paper.filed == filing
    assert answers(paper)["Why the work can’t be done in time"] == "The seal is made to order."
    assert answers(paper)["Ground"] == "Parts or components are not to be had in time"
    assert "The regulation that forbids it, and its authority" not in answers(paper)
    assert str(filing) in paper.notes[0]


# Source: 40 CFR 82.157(j), 84.106(j) and (m)(4): 125 % and more in a calendar year; dates and amounts of additions,
# last successful follow-up test, whether there is a plan.
def test_a_chronic_leak_report_holds_the_years_loss(admin: User) -> None:
    rack = add_appliance(admin, "Rack", refrigerant="R-22")
    for on, mass in (("2025-06-02", "70"), ("2025-09-02", "60"), ("2026-01-05", "4")):
        file(admin, rack, on, added=[(mass, None)])

    paper = paper_of(rack, FilingKind.CHRONIC_LEAK_REPORT_FILED, "2026-02-01", 2025)

    said = answers(paper)
    assert said["Lost in the year, % of the full charge"].startswith("130.00 %")
    assert [(row[0], row[2]) for row in tables(paper)["Additions"]] == [
        (day("2025-06-02"), Decimal("70.000")),
        (day("2025-09-02"), Decimal("60.000")),
    ]
    assert said["Is there a retrofit or retirement plan"] == "No"
    assert said["Last successful follow-up verification test"] == ""
    assert paper.due_on == day("2026-03-01")


# Source: 40 CFR 82.157(h)(2), 84.106(h)(2).
def test_a_plan_leaves_lines_for_what_only_its_owner_knows(admin: User, chiller: Appliance) -> None:
    over_the_threshold(admin, chiller, "2026-03-02")

    paper = paper_of(chiller, FilingKind.RETROFIT_OR_RETIREMENT_PLAN, "2026-03-12")

    blank = {line.label for line in paper.lines if line.is_blank}
    assert {
        "Retrofit or retirement",
        "Refrigerant after the retrofit",
        "Full charge after the retrofit",
        "Procedure of the conversion, step by step",
        "What becomes of the recovered refrigerant",
        "What becomes of the appliance",
        "Schedule",
    } <= blank
    assert "stays at the site" in paper.send_to[0]


def test_without_a_federal_rule_there_is_no_paper(admin: User) -> None:
    small = add_appliance(admin, "Small", charge_lb="10")

    on = day("2026-03-12")
    assert filing_paper(small, FilingKind.EXTENSION, as_of=on, known_at=noon(on)) is None


@pytest.mark.parametrize("kind", list(PAPER_KINDS))
def test_nothing_owed_is_said(admin: User, chiller: Appliance, kind: FilingKind) -> None:
    assert "Nothing on record asks for it" in paper_of(chiller, kind, "2026-03-12").notes[0]


@pytest.mark.parametrize("slug", SLUGS)
@pytest.mark.parametrize(("paper", "width"), [("letter", 612), ("a4", 595.3)])
def test_is_printed_tagged_with_its_signature(
    admin: User, chiller: Appliance, slug: str, paper: str, width: float
) -> None:
    over_the_threshold(admin, chiller, "2026-03-02")
    on = day("2026-03-12")
    asked = question(as_of=on, known_at=noon(on), appliance=chiller, options={"paper": paper})

    content = printed(slug, asked)

    reader, text = PdfReader(io.BytesIO(content)), pdf_text(content)
    assert float(reader.pages[0].mediabox.width) == pytest.approx(width, abs=0.5)
    assert reader.trailer["/Root"]["/MarkInfo"]["/Marked"]
    assert "Signature" in text
    assert f"Page 1 of {len(reader.pages)}" in text
    assert "It gives no legal advice" in text
    for line in (line for one in answer(slug, asked).papers for line in one.lines):
        assert line.label.split()[0] in text


def page_numbers(content: bytes) -> list[tuple[int, int]]:
    """Number and count, as each page says them."""
    pages = PdfReader(io.BytesIO(content)).pages
    said = [re.findall(r"Page (\d+) of (\d+)", page.extract_text()) for page in pages]
    return [(int(number), int(count)) for ((number, count),) in said]


@pytest.mark.parametrize("papers_in_a_piece", [1, 2, 16])
def test_each_paper_of_a_bundle_counts_its_own_pages(admin: User, papers_in_a_piece: int) -> None:
    """They are signed and sent one by one: of a request of three pages, “page 7 of 9” looks as if six were missing."""
    first = add_appliance(admin)
    appliances = [first, *(add_appliance(admin, f"Rack {number}", site=first.site) for number in (1, 2))]
    for appliance in appliances:
        over_the_threshold(admin, appliance, "2026-03-02")
    # One with more to tell, so that not all are of one length.
    for number in range(20):
        file(admin, first, f"2026-03-{number + 3:02}", found=[f"Flare {number}", f"Valve {number}"])
    on = day("2026-03-25")
    asked = question(as_of=on, known_at=noon(on))
    bundle = replace(
        report_type("extension-request"), pieces=partial(bundle_pieces, papers=papers_in_a_piece)
    )
    content = bundle.content(asked, no_progress)

    numbers = page_numbers(print_content(bundle, content, asked))

    alone = [
        page_numbers(print_content(bundle, replace(content, papers=(paper,)), asked))
        for paper in content.papers
    ]
    assert numbers == [said for paper in alone for said in paper]
    for paper in alone:
        assert paper == [(number, len(paper)) for number in range(1, len(paper) + 1)]
    assert len(alone) == 3
    assert len({len(paper) for paper in alone}) == 2


class TestPages:
    def test_the_case_and_the_appliance_lead_to_it(
        self, admin: User, chiller: Appliance, client: Client
    ) -> None:
        over_the_threshold(admin, chiller, "2026-03-02")
        repair = Obligation.objects.get(appliance=chiller, kind="repair")
        address = reverse("filing-paper", args=[chiller.pk, "extension-request"])
        client.force_login(admin)

        assert [link.paper.slug for link in papers_for([repair])] == ["extension-request"]
        assert address in client.get(reverse("obligation-detail", args=[repair.pk])).text
        assert address in client.get(reverse("appliance-detail", args=[chiller.pk])).text
        response = client.get(address)
        assert response["Content-Type"] == "application/pdf"
        assert response.content.startswith(b"%PDF-")

    def test_a_wrong_day_is_named(self, admin: User, chiller: Appliance, client: Client) -> None:
        client.force_login(admin)
        address = reverse("filing-paper", args=[chiller.pk, "extension-request"])

        page = client.get(address, {"as_of": "2626-01-01"}, follow=True)

        assert "2626-01-01" in page.text

    def test_an_unknown_paper_is_not_found(self, admin: User, chiller: Appliance, client: Client) -> None:
        client.force_login(admin)

        assert client.get(reverse("filing-paper", args=[chiller.pk, "love-letter"])).status_code == 404

    def test_a_stranger_may_not(self, stranger: User, chiller: Appliance, client: Client) -> None:
        client.force_login(stranger)

        assert client.get(reverse("filing-paper", args=[chiller.pk, SLUGS[0]])).status_code == 403
