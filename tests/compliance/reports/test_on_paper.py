"""Every report of the demo firm lies on its paper: nothing reaches into a margin, each page says which it is."""

import re

import pypdfium2
import pytest

from compliance.services.reports.catalogue import REPORTS, report_type
from portal.accounts.models import User
from tests.compliance.reports.asking import printed, question

# ANSI/ASME Y14.1 (8.5 in by 11 in) and ISO 216 (210 mm by 297 mm), in points.
SHEETS = {"letter": {612, 792}, "a4": {595, 842}}
# 10 mm at the sides, 7 mm above and below, where the names of firm and section and the page's number stand.
SIDE, END = 28, 20
WHITE = 255


@pytest.mark.proof
@pytest.mark.parametrize("paper", SHEETS)
@pytest.mark.parametrize("slug", [report.slug for report in REPORTS])
def test_nothing_reaches_into_the_margins_and_pages_are_numbered(
    officer: User, slug: str, paper: str
) -> None:
    document = pypdfium2.PdfDocument(printed(slug, question(options={"paper": paper})))
    is_bundle, begun = report_type(slug).is_paper, 0

    for number, page in enumerate(document, start=1):
        assert {round(side) for side in page.get_size()} == SHEETS[paper]
        picture = page.render(scale=1, grayscale=True).to_numpy()
        edges = (picture[:END], picture[-END:], picture[:, :SIDE], picture[:, -SIDE:])
        assert min(edge.min() for edge in edges) == WHITE, f"page {number}"
        (said,) = re.findall(r"Page (\d+) of (\d+)", page.get_textpage().get_text_range())
        if is_bundle:
            # Each paper counts its own pages: see test_filing_papers.py.
            begun = number if said[0] == "1" else begun
            assert int(said[0]) == number - begun + 1 <= int(said[1]), f"page {number}"
        else:
            assert said == (str(number), str(len(document)))
