"""Retrofit and retirement: the choice, the plan, requests about it and the answer (40 CFR 84.106(h), (i), as read).

Days are reckoned by hand from the eCFR's text of 2026-09-25: the work within a year of the plan (h)(5)(i); relief
asked for within 180 days of it (h)(5)(ii); more time asked for within 7 months of the exceedance, silence of 60 days
approves (i).
"""

import pytest

from compliance.models import Obligation
from compliance.services.case_filings import case_filing_withdraw
from tests.compliance.filings.acts import file_case
from tests.compliance.filings.refused import refused
from tests.compliance.firm import add_appliance, day, file, noon, over_the_threshold

pytestmark = pytest.mark.django_db


@pytest.fixture
def leaking(admin, chiller):
    """12 % on 2 March 2026, over the 10 % of comfort cooling."""
    over_the_threshold(admin, chiller, "2026-03-02")
    return chiller


@pytest.fixture
def process(admin):
    """Industrial process refrigeration, 40 % on 2 March 2026, over its 30 %."""
    appliance = add_appliance(admin, "P-1", category="industrial_process_refrigeration")
    file(admin, appliance, "2026-03-02", added=[("40", "A")], found=["A"])
    return appliance


def _owed(appliance, kind):
    return Obligation.objects.filter(appliance=appliance, kind=kind).order_by("-pk").first()


class TestElection:
    def test_it_ends_the_repair_and_asks_for_a_plan(self, officer, leaking):
        file_case(officer, leaking, "retrofit_or_retirement_elected", "2026-03-10")

        assert _owed(leaking, "repair").status == "cancelled"
        assert _owed(leaking, "retrofit_or_retirement_plan").due_on == day("2026-04-01")

    def test_it_needs_a_case(self, officer, chiller):
        with refused("happened_on", "none was on 2026-03-10", "84.106(h)(1)"):
            file_case(officer, chiller, "retrofit_or_retirement_elected", "2026-03-10")

    def test_it_is_chosen_once(self, officer, leaking):
        file_case(officer, leaking, "retrofit_or_retirement_elected", "2026-03-10")

        with refused("happened_on", "it was on 2026-03-10"):
            file_case(officer, leaking, "retrofit_or_retirement_elected", "2026-03-11")


class TestPlan:
    def test_it_is_met_by_its_filing(self, officer, leaking):
        filing = file_case(officer, leaking, "retrofit_or_retirement_plan", "2026-03-20")

        plan, work = (_owed(leaking, f"retrofit_or_retirement{end}") for end in ("_plan", ""))
        assert (plan.status, plan.met_by_filing) == ("met", filing)
        assert (work.due_on, work.opened_by_filing) == (day("2027-03-20"), filing)

    @pytest.mark.parametrize(("done_on", "is_taken"), [("2027-03-20", True), ("2027-03-21", False)])
    def test_its_schedule_ends_within_the_year(self, officer, leaking, done_on, is_taken):
        if is_taken:
            file_case(officer, leaking, "retrofit_or_retirement_plan", "2026-03-20", completion_on=done_on)
            return
        with refused("completion_on", "by 2027-03-20", "84.106(h)(5)(i)"):
            file_case(officer, leaking, "retrofit_or_retirement_plan", "2026-03-20", completion_on=done_on)

    @pytest.mark.parametrize(
        "name", ["refrigerant_disposition", "appliance_disposition", "schedule", "signed_by", "kept_at"]
    )
    def test_it_says_what_the_paragraph_lists(self, officer, leaking, name):
        with refused(name, "Expected an entry", "84.106(h)(2)"):
            file_case(officer, leaking, "retrofit_or_retirement_plan", "2026-03-20", **{name: None})

    def test_of_a_retrofit_it_says_what_comes_after(self, officer, leaking):
        with refused("new_refrigerant", "Expected an entry", "84.106(h)(2)"):
            file_case(
                officer,
                leaking,
                "retrofit_or_retirement_plan",
                "2026-03-20",
                intention="retrofit",
                appliance_disposition=None,
            )

    def test_it_needs_a_case(self, officer, chiller):
        with refused("happened_on", "none was on 2026-03-20", "84.106(h)(2)"):
            file_case(officer, chiller, "retrofit_or_retirement_plan", "2026-03-20")


class TestRelief:
    @pytest.fixture
    def planned(self, officer, leaking):
        file_case(officer, leaking, "retrofit_or_retirement_plan", "2026-03-20")
        return leaking

    def test_silence_ends_the_plan(self, admin, officer, planned):
        file(admin, planned, "2026-06-01", added=[("1", None)])
        file_case(officer, planned, "relief_requested", "2026-06-10")

        file(admin, planned, "2026-08-10", inspected=True)

        # 2026-06-10 + 60 days of silence = 9 August; all leaks by the plan's date and a year.
        assert _owed(planned, "retrofit_or_retirement").status == "cancelled"
        assert _owed(planned, "repair").due_on == day("2027-03-20")

    def test_while_the_rate_is_over_there_is_none(self, officer, planned):
        # 12 % of 2 March is the newest rate.
        with refused("happened_on", "over 10", "84.106(h)(5)(ii)"):
            file_case(officer, planned, "relief_requested", "2026-06-10")

    @pytest.mark.parametrize(("on", "is_in_time"), [("2026-09-16", True), ("2026-09-17", False)])
    def test_it_is_asked_for_within_180_days(self, admin, officer, planned, on, is_in_time):
        file(admin, planned, "2026-06-01", added=[("1", None)])
        if is_in_time:
            file_case(officer, planned, "relief_requested", on)
            return
        with refused("happened_on", "by 2026-09-16", "84.106(h)(5)(ii)"):
            file_case(officer, planned, "relief_requested", on)

    def test_the_promise_is_part_of_it(self, admin, officer, planned):
        file(admin, planned, "2026-06-01", added=[("1", None)])

        with refused("leaks_will_be_repaired", "Expected this to be so", "84.106(h)(5)(ii)"):
            file_case(officer, planned, "relief_requested", "2026-06-10", leaks_will_be_repaired=None)

    def test_and_so_is_its_day(self, admin, officer, planned):
        file(admin, planned, "2026-06-01", added=[("1", None)])

        with refused("repairs_done_by", "by 2027-03-20"):
            file_case(officer, planned, "relief_requested", "2026-06-10", repairs_done_by="2027-03-21")

    def test_a_refusal_lets_the_plan_stand(self, admin, officer, planned):
        file(admin, planned, "2026-06-01", added=[("1", None)])
        file_case(officer, planned, "relief_requested", "2026-06-10")

        file_case(officer, planned, "agency_answer", "2026-07-01", answer="refused")

        assert _owed(planned, "retrofit_or_retirement").status == "open"

    def test_an_answer_belongs_to_a_request(self, officer, planned):
        with refused("happened_on", "that waits for an answer", "84.106(f)(4), (h)(5)(ii), (i)"):
            file_case(officer, planned, "agency_answer", "2026-07-01")

    def test_after_the_silence_an_answer_is_too_late(self, admin, officer, planned):
        file(admin, planned, "2026-06-01", added=[("1", None)])
        file_case(officer, planned, "relief_requested", "2026-06-10")

        with refused("happened_on", "by 2026-08-09", "84.106(h)(5)(ii)"):
            file_case(officer, planned, "agency_answer", "2026-08-10", answer="refused")

    def test_a_plan_that_a_request_rests_on_is_not_withdrawn(self, admin, officer, planned):
        file(admin, planned, "2026-06-01", added=[("1", None)])
        file_case(officer, planned, "relief_requested", "2026-06-10")
        plan = planned.case_filings.get(kind="retrofit_or_retirement_plan")

        with refused("filing", "Withdraw that first"):
            case_filing_withdraw(
                by=officer, filing=plan, reason="Typed twice", filed_at=noon(day("2026-06-11"))
            )


class TestMoreTime:
    def test_a_process_gets_it_for_another_regulation(self, officer, process):
        file_case(officer, process, "retrofit_or_retirement_plan", "2026-03-20")
        file_case(officer, process, "plan_extension", "2026-05-01")

        file_case(officer, process, "agency_answer", "2026-06-01")

        assert _owed(process, "retrofit_or_retirement").due_on == day("2027-09-01")

    def test_it_is_asked_for_within_seven_months(self, officer, process):
        file_case(officer, process, "retrofit_or_retirement_plan", "2026-03-20")

        # 2026-03-02 + 7 months = 2 October.
        with refused("happened_on", "due by 2026-10-02", "84.106(i)"):
            file_case(officer, process, "plan_extension", "2026-10-03")

    def test_other_appliances_have_no_ground_of_processes(self, officer, leaking):
        file_case(officer, leaking, "retrofit_or_retirement_plan", "2026-03-20")

        with refused("basis", "industrial process refrigeration", "84.106(i)"):
            file_case(officer, leaking, "plan_extension", "2026-05-01")

    @pytest.mark.parametrize(
        ("basis", "evidence"),
        [
            ("exempt_substitute", {"substitute": "R-744", "sent_by": None, "signed_by": None}),
            ("federally_owned", {"federal_agency": "The park service"}),
        ],
    )
    def test_grounds_of_the_other_section_are_refused(self, officer, process, basis, evidence):
        file_case(officer, process, "retrofit_or_retirement_plan", "2026-03-20")

        with refused("basis", "82.157(i) alone"):
            file_case(
                officer, process, "plan_extension", "2026-05-01", basis=basis, regulation=None, **evidence
            )

    @pytest.mark.parametrize(("weeks", "is_long"), [("31", True), ("30", False)])
    def test_what_is_built_to_order_takes_more_than_thirty_weeks(self, officer, process, weeks, is_long):
        file_case(officer, process, "retrofit_or_retirement_plan", "2026-03-20")
        evidence = {
            "basis": "custom_built",
            "regulation": None,
            "supplier": "Quarry Road Works",
            "quoted_weeks": weeks,
            "delivery_expected_on": "2027-05-15",
        }
        if is_long:
            # 2027-05-15 + 120 days = 12 September.
            file_case(officer, process, "plan_extension", "2026-05-01", **evidence)
            with refused("until", "by 2027-09-12"):
                file_case(
                    officer, process, "plan_extension", "2026-05-02", **{**evidence, "until": "2027-09-13"}
                )
            return
        with refused("quoted_weeks", "more than 30 weeks", "84.106(i)"):
            file_case(officer, process, "plan_extension", "2026-05-01", **evidence)

    def test_it_needs_a_plan(self, officer, process):
        with refused("happened_on", "no plan was on 2026-05-01", "84.106(i)"):
            file_case(officer, process, "plan_extension", "2026-05-01")
