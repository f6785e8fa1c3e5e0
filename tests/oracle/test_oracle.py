"""The portal's answer and a second, independent count of the same records agree, over thousands of invented lives."""

import pytest
from hypothesis import HealthCheck, assume, event, given, settings

from tests.oracle.contract import assess_json
from tests.oracle.histories import EPISODES, FURTHER_EPISODES, RULE_SETS, requests
from tests.oracle.oracle import answer, disagreements
from tests.oracle.records import Unsettled

QUIET = [HealthCheck.too_slow, HealthCheck.filter_too_much, HealthCheck.data_too_large]


def check(request):
    try:
        expected = answer(request)
    except Unsettled:
        assume(False)
    for why in expected["unsettled"]:
        event(f"unsettled: {why}")
    event(f"{len(expected['leak_rates'])} leak rates")

    assert disagreements(expected, assess_json(request)) == []


EVERYTHING = requests(episodes=(*EPISODES, *FURTHER_EPISODES), rule_sets=RULE_SETS)


@settings(max_examples=150, deadline=None, suppress_health_check=QUIET)
@given(EVERYTHING)
def test_portal_and_second_count_agree(request):
    check(request)


@pytest.mark.proof
@settings(max_examples=20_000, deadline=None, suppress_health_check=QUIET)
@given(EVERYTHING)
def test_portal_and_second_count_agree_over_many_lives(request):
    check(request)
