"""Where the law leaves room the portal takes one documented choice: each clause, on both sides of its edge."""

from pathlib import Path

import pytest

from tests.oracle.contract import assess_json
from tests.oracle.worked_cases import differences, load_cases

CASES = [
    case for path in sorted((Path(__file__).parent / "choices").glob("*.toml")) for case in load_cases(path)
]


@pytest.mark.parametrize("case", CASES, ids=str)
def test_choice_is_taken_as_documented(case):
    answer = assess_json(case.request)

    assert differences(case, answer) == [], case.source


@pytest.mark.parametrize("case", CASES, ids=str)
def test_every_row_says_why_and_where_the_law_stands(case):
    answer = assess_json(case.request)

    for row in answer["applies"] + answer["leak_rates"] + answer["obligations"] + [answer["headroom"]]:
        assert row["because"].strip()
    for row in answer["applies"] + answer["obligations"]:
        assert row["citation"].strip()
    for row in answer["obligations"]:
        assert isinstance(row["confirmed"], bool)
