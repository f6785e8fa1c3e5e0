"""Filed records become the rulebook's facts, in legal order, as known at any instant."""

import datetime

import pytest

from compliance.rulebook.facts import FactKind, LeakRateMethod
from compliance.selectors.facts import appliance_facts, assess_appliance, rules_for
from jobs.models import Jurisdiction, Site
from jobs.services.customers import site_change
from jobs.services.events import service_event_void
from tests.compliance.firm import FOLLOW_UP, INITIAL, add_appliance, amend, day, file, leak, noon

pytestmark = pytest.mark.django_db

HOUR = datetime.timedelta(hours=1)


def _kinds(appliance, known_at=None):
    return [fact.kind for fact in appliance_facts(appliance, known_at)[1]]


def _tests(facts):
    return [(fact.leak, fact.passed, fact.all_leaks) for fact in facts if fact.kind == FOLLOW_UP]


def test_a_visit_reads_in_the_order_of_the_work(admin, chiller):
    file(admin, chiller, "2026-03-02", added=[("12", "A")], found=["A"])
    file(
        admin,
        chiller,
        "2026-03-10",
        stated=[("normal_operation", {})],
        passed=[(FOLLOW_UP, leak(chiller)), (INITIAL, leak(chiller))],
        repaired=[leak(chiller)],
        inspected=True,
        removed=[("3", None)],
        added=[("3", None)],
    )

    assert _kinds(chiller)[2:] == [
        FactKind.REMOVAL,
        FactKind.ADDITION,
        FactKind.LEAK_INSPECTION,
        FactKind.REPAIR,
        FactKind.INITIAL_VERIFICATION_TEST,
        FactKind.NORMAL_OPERATION,
        FactKind.FOLLOW_UP_VERIFICATION_TEST,
    ]


def test_the_facts_say_what_was_filed(admin, chiller):
    event = file(admin, chiller, "2026-03-02", added=[("7", "A")], found=["A"])

    addition, inspection = appliance_facts(chiller)[1]

    assert (addition.on, addition.mass_mg, addition.reason) == (day("2026-03-02"), 3_175_147, "service")
    assert (addition.event, addition.leak) == (event.reference, "L1")
    assert inspection.leaks_found == 1


def test_visits_of_one_day_stand_in_the_order_filed_and_an_amendment_in_its_originals_place(admin, chiller):
    first = file(admin, chiller, "2026-03-02", added=[("1", None)])
    second = file(admin, chiller, "2026-03-02", added=[("2", None)])
    filed_at = noon(day("2026-03-05"))

    amended = amend(admin, first, "2026-03-02", filed_at=filed_at, added=[("3", None)])

    facts = appliance_facts(chiller)[1]
    assert [fact.event for fact in facts] == [amended.reference, second.reference]


def test_what_was_known_at_an_instant_stays_what_it_was(admin, chiller):
    event = file(admin, chiller, "2026-03-02", added=[("12", None)])
    amended_at = noon(day("2026-03-05"))
    amended = amend(admin, event, "2026-03-02", filed_at=amended_at, added=[("2", None)])
    voided_at = noon(day("2026-03-08"))
    service_event_void(by=admin, event=amended, reason="Another appliance", filed_at=voided_at)

    def masses(known_at=None):
        return [fact.mass_mg // 453_592 for fact in appliance_facts(chiller, known_at)[1]]

    assert masses(event.filed_at - HOUR) == []
    assert masses(event.filed_at) == [12]
    assert masses(amended_at - HOUR) == [12]
    assert masses(amended_at) == [2]
    assert masses(voided_at - HOUR) == [2]
    assert masses(voided_at) == masses() == []


def test_a_record_filed_late_counts_on_its_own_day(admin, chiller):
    file(admin, chiller, "2026-03-02", filed_at=noon(day("2026-06-01")), added=[("12", None)])

    rate = assess_appliance(chiller, as_of=day("2026-06-01")).leak_rates[0]

    assert (rate.on, rate.exceeds) == (day("2026-03-02"), True)


def test_a_follow_up_test_covers_all_leaks_only_once_every_open_one_has_passed(admin, chiller):
    """40 CFR 82.152: the rolling window restarts at a test showing *all* identified leaks repaired."""
    file(admin, chiller, "2026-03-02", added=[("12", "A")], found=["A", "B"])
    file(admin, chiller, "2026-03-05", repaired=[leak(chiller)], passed=[(INITIAL, leak(chiller))])
    file(admin, chiller, "2026-03-12", passed=[(FOLLOW_UP, leak(chiller))])
    file(admin, chiller, "2026-03-13", passed=[(FOLLOW_UP, leak(chiller, 2))])

    assert _tests(appliance_facts(chiller)[1]) == [("L1", True, False), ("L2", True, True)]


def test_a_leak_found_again_is_open_again(admin, chiller):
    file(admin, chiller, "2026-03-02", found=["A"])
    file(admin, chiller, "2026-03-12", passed=[(FOLLOW_UP, leak(chiller))])
    file(admin, chiller, "2026-04-01", found=["B"])
    file(admin, chiller, "2026-04-12", failed=[(FOLLOW_UP, leak(chiller))])
    file(admin, chiller, "2026-04-14", passed=[(FOLLOW_UP, leak(chiller, 2))])

    assert _tests(appliance_facts(chiller)[1]) == [
        ("L1", True, True),
        ("L1", False, False),
        ("L2", True, False),
    ]


def test_an_inspection_of_a_part_meets_no_inspection(admin, chiller):
    """40 CFR 84.106(g): all visible and accessible components."""
    file(admin, chiller, "2026-03-02", inspected=True, is_complete=False)
    file(admin, chiller, "2026-03-03", inspected=True)

    assert [fact.on for fact in appliance_facts(chiller)[1]] == [day("2026-03-03")]


def test_statements_carry_their_details(admin, chiller):
    file(admin, chiller, "2026-03-02", stated=[("full_charge_change", {"full_charge_mg": 50_000_000})])
    file(
        admin,
        chiller,
        "2026-03-03",
        stated=[("retrofitted", {"refrigerant": "R-32", "full_charge_mg": 40_000_000})],
    )

    change, retrofit = appliance_facts(chiller)[1]

    assert change.full_charge_mg == 50_000_000
    assert (retrofit.refrigerant.designation, retrofit.full_charge_mg) == ("R-32", 40_000_000)


def test_the_appliance_is_described_as_before_its_first_fact(admin, chiller):
    file(admin, chiller, "2026-03-02", stated=[("full_charge_change", {"full_charge_mg": 50_000_000})])

    assert appliance_facts(chiller)[0].full_charge_mg == chiller.full_charge_mg


def test_an_event_being_amended_can_be_left_out(admin, chiller):
    event = file(admin, chiller, "2026-03-02", added=[("12", None)])

    assert appliance_facts(chiller, without=event)[1] == []


def test_the_registers_too_are_read_as_they_were_known(admin, chiller):
    before = datetime.datetime.now(datetime.UTC)
    site_change(by=admin, site=chiller.site, leak_rate_method="rolling_average")
    chiller.site.refresh_from_db()
    file(admin, chiller, "2026-03-02", filed_at=noon(day("2026-03-02")), added=[("12", None)])

    now = assess_appliance(chiller, as_of=day("2026-03-02"))
    then = assess_appliance(chiller, as_of=day("2026-03-02"), known_at=before)

    assert now.leak_rates[0].method is LeakRateMethod.ROLLING_AVERAGE
    assert then.leak_rates[0].method is LeakRateMethod.ANNUALIZING


@pytest.mark.parametrize(
    ("jurisdiction", "rules"),
    [
        (Jurisdiction.US_FEDERAL, ("us-federal",)),
        (Jurisdiction.US_CALIFORNIA, ("us-federal", "us-california")),
        (Jurisdiction.EU, ("eu",)),
        (Jurisdiction.UK, ("uk",)),
    ],
)
def test_the_rules_follow_from_where_the_site_stands(jurisdiction, rules):
    assert rules_for(Site(jurisdiction=jurisdiction)) == rules


def test_every_jurisdiction_can_be_assessed(admin, chiller):
    for jurisdiction in Jurisdiction.values:
        chiller.site.jurisdiction = jurisdiction

        assert assess_appliance(chiller, as_of=day("2026-03-02")).as_of == day("2026-03-02")


def test_the_facts_of_an_appliance_take_a_fixed_number_of_queries(admin, django_assert_num_queries):
    chiller = add_appliance(admin, "Chiller 9")
    for number in range(4):
        file(admin, chiller, f"2026-03-0{number + 1}", added=[("1", "A")], found=["A"])

    with django_assert_num_queries(8):
        appliance_facts(chiller)
