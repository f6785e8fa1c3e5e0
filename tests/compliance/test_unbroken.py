"""What one reads as one stays on one line: dates, citations, figures with their units."""

import pytest

from compliance.rulebook.tables import load_tables
from compliance.templatetags.compliance_tags import unbroken


def _kept(text):
    return [part.split("</span>")[0] for part in unbroken(text).split('<span class="text-nowrap">')[1:]]


@pytest.mark.parametrize(
    ("text", "kept"),
    [
        ("Due 2026-03-10 + 10 days = 2026-03-20.", ["2026-03-10", "10 days", "2026-03-20"]),
        ("over the 20 % threshold (40 CFR 84.106(c)(2)).", ["20 %", "40 CFR 84.106(c)(2)"]),
        ("361.300 lb of 1390.000 lb, 163.882 kg", ["361.300 lb", "1390.000 lb", "163.882 kg"]),
        ("17 CCR 95385(a), 40 CFR 82.156(a), table 1", ["17 CCR 95385(a)", "40 CFR 82.156(a)"]),
        ("Regulation (EU) 2024/573 Art. 5(6)(b)", ["Regulation (EU) 2024/573", "Art. 5(6)(b)"]),
        (
            "Regulation (EC) No 1005/2009 (Great Britain) Art. 23(2), Annex II section 1",
            ["Regulation (EC) No 1005/2009", "Art. 23(2)", "Annex II"],
        ),
        ("361.300 / 1390.000 × 365 / 365 × 100", []),
        ("5 leaks, 3 largest", []),
    ],
)
def test_a_sentence_keeps_together_what_one_reads_as_one(text, kept):
    assert _kept(text) == kept


def test_the_words_stay_as_they_are():
    text = "Due 2026-03-20 (40 CFR 84.106(e)(2))."

    assert unbroken(text).replace('<span class="text-nowrap">', "").replace("</span>", "") == text


def test_markup_stays_text():
    assert unbroken("<b>7 lb</b> & 'more'") == (
        '&lt;b&gt;<span class="text-nowrap">7 lb</span>&lt;/b&gt; &amp; &#x27;more&#x27;'
    )


@pytest.mark.parametrize("citation", sorted({row.citation for row in load_tables().rows}))
def test_every_citation_of_the_tables_has_a_part_that_is_kept(citation):
    assert _kept(citation)
