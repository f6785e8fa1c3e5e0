"""Every name of the rulebook has words, so that no page shows a bare key."""

import pytest

from compliance.rulebook.facts import LeakRateMethod
from compliance.rulebook.results import ObligationKind, Status
from compliance.rulebook.rules import RULE_NAMES
from compliance.rulebook.tables import load_tables
from compliance.selectors.wording import (
    due_in_words,
    kind_in_words,
    met_by_in_words,
    method_in_words,
    owed_in_words,
    rule_in_words,
    status_in_words,
)


@pytest.mark.parametrize("kind", ObligationKind)
def test_every_kind_has_a_name_a_task_and_what_meets_it(kind):
    words = [kind_in_words(kind.value), owed_in_words(kind.value), met_by_in_words(kind.value)]

    assert all(text and "_" not in text for text in words)
    assert words[1].endswith(".")


def test_every_rule_that_owes_something_has_a_name():
    rules = {row.rule for row in load_tables().rows if row.key == "record_retention"} | set(RULE_NAMES)

    assert all("-" not in rule_in_words(rule).split(",")[0] for rule in rules)


def test_every_method_and_status_has_a_name():
    assert {method_in_words(method) for method in LeakRateMethod} == {"annualizing", "rolling average"}
    assert {status_in_words(status.value) for status in Status} >= {"Open", "Overdue", "Met late"}


@pytest.mark.parametrize(
    ("days", "words"),
    [
        (14, "due in 14 days"),
        (1, "due in 1 day"),
        (0, "due today"),
        (-1, "1 day overdue"),
        (-30, "30 days overdue"),
    ],
)
def test_how_far_off_a_due_date_is(days, words):
    assert due_in_words(days) == words
