"""The answer to a filing: the rates of its additions, and the clocks that it started and stopped."""

import pytest

from compliance.selectors.filing_answer import filing_answer
from tests.compliance.firm import INITIAL, file, leak, over_the_threshold

pytestmark = pytest.mark.django_db


def test_an_addition_over_the_threshold_answers_with_its_rate_and_clocks(admin, chiller):
    answer = filing_answer(over_the_threshold(admin, chiller, "2026-03-02"))

    assert answer.is_over
    assert [float(rate.rate_pct) for rate in answer.rates] == [12.0]
    assert "84.106(b)(1)" in answer.rates[0].because
    assert {row.kind for row in answer.opened} == {"repair", "initial_verification_test"}
    assert answer.met == ()


def test_a_repair_answers_with_what_it_met_and_what_follows(admin, chiller):
    over_the_threshold(admin, chiller, "2026-03-02")
    event = file(admin, chiller, "2026-03-10", repaired=[leak(chiller)], passed=[(INITIAL, leak(chiller))])

    answer = filing_answer(event)

    assert not answer.is_over
    assert {row.kind for row in answer.met} == {"repair", "initial_verification_test"}
    assert [row.kind for row in answer.opened] == ["follow_up_verification_test"]


def test_a_visit_that_added_nothing_answers_with_nothing(admin, chiller):
    answer = filing_answer(file(admin, chiller, "2026-03-02", inspected=True))

    assert (answer.rates, answer.opened, answer.met) == ((), (), ())
