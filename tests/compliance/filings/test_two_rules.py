"""Requests at a site in California, where two rules have cases of their own (40 CFR 84.106, 17 CCR 95386, 95387).

Days are reckoned by hand: the federal repair is due 30 days after the exceedance, with parts at most 180 days after
it (84.106(d)(1), (f)(1), read 2026-09-25); the state's 14 and 45 days after the leak was found (95386). A plan's
work is due a year after the plan's date by 84.106(h)(5)(i), and 6 months after the leak was found by 95387.
"""

import pytest

from compliance.models import Obligation
from tests.compliance.filings.acts import file_case
from tests.compliance.filings.refused import refused
from tests.compliance.firm import (
    add_appliance,
    add_customer,
    add_site,
    day,
    file,
    leak,
)

pytestmark = pytest.mark.django_db


@pytest.fixture
def rack(admin):
    """100 lb of commercial refrigeration in California, over the federal threshold with more than 20 lb."""
    site = add_site(admin, add_customer(admin), "Alder Cove", jurisdiction="us-california")
    return add_appliance(admin, "Rack C", site=site, category="commercial_refrigeration")


@pytest.fixture
def cove(admin, rack):
    """Over on 2 March 2026: due on 16 March by the state’s rule and on 1 April by the federal one."""
    file(admin, rack, "2026-03-02", added=[("25", "A")], found=["A"])
    return rack


def _due(appliance):
    rows = Obligation.objects.filter(appliance=appliance, kind="repair")
    return {row.rule: row.due_on for row in rows}


@pytest.mark.parametrize("on", ["2026-03-10", "2026-03-20"])
@pytest.mark.parametrize(("estimate", "is_taken"), [("2026-08-29", True), ("2026-08-30", False)])
def test_parts_are_held_against_the_rule_that_gives_them_time(officer, cove, on, estimate, is_taken):
    if is_taken:
        file_case(officer, cove, "extension", on, completion_estimate=estimate)
        # 2026-03-02 + 180 days; + 45 days where the state was asked within its 14.
        state = day("2026-04-16" if on == "2026-03-10" else "2026-03-16")
        assert _due(cove) == {"us-federal-hfc": day("2026-08-29"), "us-california": state}
        return
    with refused("completion_estimate", "by 2026-08-29", "40 CFR 84.106(f)(1)"):
        file_case(officer, cove, "extension", on, completion_estimate=estimate)


@pytest.mark.parametrize(("estimate", "is_taken"), [("2026-05-20", True), ("2026-05-21", False)])
def test_where_the_federal_time_is_over_the_state_s_rule_decides(admin, officer, cove, estimate, is_taken):
    # The federal initial test is overdue from 2 April on; a leak found on the 5th is a new case of the state's.
    rack = cove
    file(admin, rack, "2026-03-05", repaired=[leak(rack)])
    file(admin, rack, "2026-04-05", found=["B"])
    if is_taken:
        file_case(officer, rack, "extension", "2026-04-10", completion_estimate=estimate)
        return
    with refused("completion_estimate", "by 2026-05-20", "17 CCR 95386"):
        file_case(officer, rack, "extension", "2026-04-10", completion_estimate=estimate)


@pytest.mark.parametrize(("done_on", "is_taken"), [("2027-03-10", True), ("2027-03-11", False)])
def test_a_plan_is_held_against_the_rule_that_gives_it_longer(officer, cove, done_on, is_taken):
    if is_taken:
        assert file_case(officer, cove, "retrofit_or_retirement_plan", "2026-03-10", completion_on=done_on).pk
        return
    with refused("completion_on", "by 2027-03-10", "40 CFR 84.106(h)(5)(i)"):
        file_case(officer, cove, "retrofit_or_retirement_plan", "2026-03-10", completion_on=done_on)


@pytest.mark.parametrize(("done_on", "is_taken"), [("2025-12-01", True), ("2025-12-02", False)])
def test_a_plan_of_the_state_alone_cites_the_state(admin, officer, rack, done_on, is_taken):
    # 40 CFR 84.106 begins on 2026-01-01; the state's six months run from 2025-06-01.
    file(admin, rack, "2025-06-01", added=[("12", "A")], found=["A"])
    if is_taken:
        assert file_case(officer, rack, "retrofit_or_retirement_plan", "2025-06-20", completion_on=done_on).pk
        return
    with refused("completion_on", "by 2025-12-01", "17 CCR 95387"):
        file_case(officer, rack, "retrofit_or_retirement_plan", "2025-06-20", completion_on=done_on)
