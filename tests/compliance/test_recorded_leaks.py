"""A leak is verified while the newest record of it, in legal order, is a passed follow-up test."""

import pytest

from compliance.selectors.recorded_leaks import recorded_leaks
from tests.compliance.firm import FOLLOW_UP, INITIAL, amend, day, file, leak, noon, over_the_threshold

pytestmark = pytest.mark.django_db


@pytest.fixture
def repaired(admin, chiller):
    over_the_threshold(admin, chiller, "2026-03-02")
    file(admin, chiller, "2026-03-10", repaired=[leak(chiller)], passed=[(INITIAL, leak(chiller))])
    return chiller


def _is_verified(appliance):
    [option] = recorded_leaks(appliance)
    return option.is_verified


def test_a_leak_is_not_verified_before_its_follow_up_test(repaired):
    assert not _is_verified(repaired)


@pytest.mark.parametrize("result", ["passed", "failed"])
def test_the_follow_up_test_decides(admin, repaired, result):
    file(admin, repaired, "2026-03-15", **{result: [(FOLLOW_UP, leak(repaired))]})

    assert _is_verified(repaired) is (result == "passed")


def test_within_a_visit_the_follow_up_test_comes_after_the_repair(admin, repaired):
    file(admin, repaired, "2026-03-15", repaired=[leak(repaired)], passed=[(FOLLOW_UP, leak(repaired))])

    assert _is_verified(repaired)


@pytest.mark.parametrize("on", ["2026-03-15", "2026-03-16"])
def test_finding_it_again_opens_it_anew_even_on_the_day_of_the_test(admin, repaired, on):
    file(admin, repaired, "2026-03-15", passed=[(FOLLOW_UP, leak(repaired))])
    file(admin, repaired, on, found_again=[leak(repaired)])

    assert not _is_verified(repaired)


def test_repairing_it_again_opens_it_anew_on_the_day_of_the_test(admin, repaired):
    file(admin, repaired, "2026-03-15", passed=[(FOLLOW_UP, leak(repaired))])
    file(admin, repaired, "2026-03-15", repaired=[leak(repaired)])

    assert not _is_verified(repaired)


def test_an_amendment_stands_in_its_originals_place(admin, repaired):
    first = file(admin, repaired, "2026-03-15", repaired=[leak(repaired)])
    file(admin, repaired, "2026-03-15", passed=[(FOLLOW_UP, leak(repaired))])
    amend(
        admin,
        first,
        "2026-03-15",
        filed_at=noon(day("2026-03-16")),
        repaired=[leak(repaired)],
        inspected=True,
    )

    assert _is_verified(repaired)
