"""Hand-counted deadlines of the US federal rules, asked of the `assess` command."""

from pathlib import Path

import pytest

from tests.oracle.contract import assess_json
from tests.oracle.worked_cases import differences, load_cases

CASES = load_cases(Path(__file__).parent / "us_federal_deadlines.toml")


@pytest.mark.parametrize("case", CASES, ids=str)
def test_deadline_is_the_counted_date(case):
    answer = assess_json(case.request)

    assert differences(case, answer) == [], case.source
