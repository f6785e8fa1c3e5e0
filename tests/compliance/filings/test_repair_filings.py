"""More time, a shutdown, mothballing and a seasonal variance: filed as records, refused outside their paragraphs.

Days and masses are reckoned by hand from 40 CFR 84.106 as published by the eCFR (read 2026-09-25): 30 days for a
repair (d), 120 with an industrial process shutdown, an extension for parts of 30 days after delivery and at most
180 days (f)(1).
"""

import pytest

from compliance.models import Obligation
from tests.compliance.filings.acts import amend_case, file_case
from tests.compliance.filings.refused import refused
from tests.compliance.firm import FOLLOW_UP, INITIAL, add_appliance, day, file, leak, over_the_threshold

pytestmark = pytest.mark.django_db


@pytest.fixture
def leaking(admin, chiller):
    """12 % on 2 March 2026, over the 10 % of comfort cooling: the repair is due on 1 April."""
    over_the_threshold(admin, chiller, "2026-03-02")
    return chiller


def _repair(appliance):
    return Obligation.objects.get(appliance=appliance, kind="repair")


def _repairs(appliance):
    return Obligation.objects.filter(appliance=appliance, kind="repair").order_by("opened_on")


class TestExtension:
    def test_waiting_for_parts_the_longest_time_counts(self, officer, leaking):
        file_case(officer, leaking, "extension", "2026-03-20")

        # 2026-03-02 + 180 days.
        assert _repair(leaking).due_on == day("2026-08-29")

    def test_once_they_are_delivered_thirty_days_count(self, officer, leaking):
        file_case(officer, leaking, "extension", "2026-03-20")

        file_case(
            officer,
            leaking,
            "extension",
            "2026-04-21",
            delivered_on="2026-04-20",
            identified_on="2026-04-20",
        )

        assert _repair(leaking).due_on == day("2026-05-20")

    @pytest.mark.parametrize(("answer", "due"), [("granted", "2026-08-29"), ("refused", "2026-04-01")])
    def test_the_agency_may_refuse_it(self, officer, leaking, answer, due):
        file_case(officer, leaking, "extension", "2026-03-20")

        file_case(officer, leaking, "agency_answer", "2026-03-25", answer=answer)

        assert _repair(leaking).due_on == day(due)
        with refused("happened_on", "that waits for an answer", "84.106(f)(4)"):
            file_case(officer, leaking, "agency_answer", "2026-03-26", answer="refused")

    def test_it_needs_a_case(self, officer, chiller):
        with refused("happened_on", "none was on 2026-03-20", "84.106(f)(4)"):
            file_case(officer, chiller, "extension", "2026-03-20")

    @pytest.mark.parametrize(("on", "is_in_time"), [("2026-04-01", True), ("2026-04-02", False)])
    def test_it_is_filed_within_the_time(self, officer, leaking, on, is_in_time):
        if is_in_time:
            file_case(officer, leaking, "extension", on)
            return
        with refused("happened_on", "which was over: repair by 2026-04-01"):
            file_case(officer, leaking, "extension", on)

    @pytest.mark.parametrize(("estimate", "is_taken"), [("2026-08-29", True), ("2026-08-30", False)])
    def test_the_work_is_done_within_the_cap(self, officer, leaking, estimate, is_taken):
        if is_taken:
            file_case(officer, leaking, "extension", "2026-03-20", completion_estimate=estimate)
            return
        with refused("completion_estimate", "by 2026-08-29", "84.106(f)(1)"):
            file_case(officer, leaking, "extension", "2026-03-20", completion_estimate=estimate)

    @pytest.mark.parametrize(("estimate", "is_taken"), [("2027-01-30", True), ("2027-01-31", False)])
    def test_a_second_case_has_a_cap_of_its_own(self, admin, officer, chiller, estimate, is_taken):
        over_the_threshold(admin, chiller, "2026-02-02")
        name = leak(chiller)
        file(admin, chiller, "2026-02-10", repaired=[name], passed=[(INITIAL, name)])
        file(admin, chiller, "2026-02-12", passed=[(FOLLOW_UP, name)])
        over_the_threshold(admin, chiller, "2026-08-03")
        parts = {"delivery_expected_on": "2026-09-20", "completion_estimate": estimate}
        if is_taken:
            file_case(officer, chiller, "extension", "2026-08-10", **parts)
            # 2026-08-03 + 180 days.
            assert [row.due_on for row in _repairs(chiller)] == [day("2026-03-04"), day("2027-01-30")]
            return
        with refused("completion_estimate", "by 2027-01-30", "84.106(f)(1)"):
            file_case(officer, chiller, "extension", "2026-08-10", **parts)

    @pytest.mark.parametrize(
        ("name", "paragraph"),
        [
            ("reasons", "84.106(f)(4)"),
            ("completion_estimate", "84.106(f)(4)"),
            ("signed_by", "84.106(f)(4)"),
            ("supplier", "84.106(f)(1)"),
            ("delivery_expected_on", "84.106(f)(1)"),
        ],
    )
    def test_what_the_paragraph_lists_is_needed(self, officer, leaking, name, paragraph):
        with refused(name, "Expected an entry", paragraph):
            file_case(officer, leaking, "extension", "2026-03-20", **{name: None})

    def test_a_signature_is_of_the_hfc_rule_alone(self, admin, officer):
        # 40 CFR 82.157(f)(4) lists none.
        old = add_appliance(admin, "Chiller R-22", refrigerant="R-22")
        over_the_threshold(admin, old, "2026-03-02")

        assert file_case(officer, old, "extension", "2026-03-20", signed_by=None).pk

    def test_another_regulation_gives_the_time_that_it_needs(self, officer, leaking):
        file_case(
            officer,
            leaking,
            "extension",
            "2026-03-20",
            basis="other_regulation",
            regulation="State pressure vessel code",
            parts_needed=None,
            supplier=None,
            delivery_expected_on=None,
        )

        assert _repair(leaking).due_on == day("2026-05-10")

    def test_evidence_of_another_ground_is_refused(self, officer, leaking):
        with refused("supplier", "Expected nothing here"):
            file_case(officer, leaking, "extension", "2026-03-20", basis="radiological")

    def test_a_new_estimate_says_when_it_was_found_to_be_needed(self, officer, leaking):
        file_case(officer, leaking, "extension", "2026-03-20")

        with refused("identified_on", "request of 2026-03-20", "84.106(f)"):
            file_case(officer, leaking, "extension", "2026-04-21", delivered_on="2026-04-20")

    @pytest.mark.parametrize(("identified_on", "is_in_time"), [("2026-04-10", True), ("2026-04-09", False)])
    def test_a_new_estimate_is_sent_within_thirty_days(self, officer, leaking, identified_on, is_in_time):
        file_case(officer, leaking, "extension", "2026-03-20")
        new = {"identified_on": identified_on, "completion_estimate": "2026-06-30"}
        if is_in_time:
            file_case(officer, leaking, "extension", "2026-05-10", **new)
            return
        with refused("identified_on", "within 30 days before 2026-05-10"):
            file_case(officer, leaking, "extension", "2026-05-10", **new)


class TestShutdown:
    def test_it_is_of_industrial_processes_alone(self, officer, leaking):
        with refused("kind", "industrial process refrigeration", "84.106(d)"):
            file_case(officer, leaking, "industrial_process_shutdown_required", "2026-03-10")

    def test_it_gives_a_process_more_time(self, admin, officer):
        process = add_appliance(admin, "P-1", category="industrial_process_refrigeration")
        file(admin, process, "2026-03-02", added=[("40", "A")], found=["A"])

        file_case(officer, process, "industrial_process_shutdown_required", "2026-03-10")

        # 2026-03-02 + 120 days.
        assert _repair(process).due_on == day("2026-06-30")

    def test_once_is_enough(self, admin, officer):
        process = add_appliance(admin, "P-1", category="industrial_process_refrigeration")
        file(admin, process, "2026-03-02", added=[("40", "A")], found=["A"])
        file_case(officer, process, "industrial_process_shutdown_required", "2026-03-10")

        with refused("happened_on", "filed on 2026-03-10 already"):
            file_case(officer, process, "industrial_process_shutdown_required", "2026-03-11")


class TestMothballing:
    def test_clocks_stand_still_and_go_on_with_the_next_addition(self, admin, officer, leaking):
        visit = file(admin, leaking, "2026-03-12", removed=[("80", None)])
        file_case(officer, leaking, "mothballed", "2026-03-12", evacuation_visit=visit.reference)
        assert (_repair(leaking).status, _repair(leaking).due_on) == ("suspended", None)

        file(admin, leaking, "2026-06-01", added=[("80", None)])

        # Twenty of the thirty days were left on 12 March.
        assert _repair(leaking).due_on == day("2026-06-21")

    @pytest.mark.parametrize(
        ("pressure", "unit", "is_taken"),
        [("0", "psig", True), ("1", "psig", False), ("10", "inHg_vac", True), ("102", "kPa_abs", False)],
    )
    def test_it_is_evacuated_at_least_to_the_air(self, admin, officer, leaking, pressure, unit, is_taken):
        visit = file(admin, leaking, "2026-03-12", removed=[("80", None)])
        evidence = {
            "evacuation_visit": visit.reference,
            "pressure_reached": pressure,
            "pressure_unit": unit,
        }
        if is_taken:
            file_case(officer, leaking, "mothballed", "2026-03-12", **evidence)
            return
        with refused("pressure_reached", "0 psig", "82.152"):
            file_case(officer, leaking, "mothballed", "2026-03-12", **evidence)

    def test_a_visit_that_took_nothing_out_is_no_evacuation(self, admin, officer, leaking):
        visit = file(admin, leaking, "2026-03-12", inspected=True)

        with refused("evacuation_visit", "took refrigerant out"):
            file_case(officer, leaking, "mothballed", "2026-03-12", evacuation_visit=visit.reference)

    def test_nor_is_one_before_refrigerant_was_added(self, admin, officer, leaking):
        visit = file(admin, leaking, "2026-03-12", removed=[("80", None)])
        file(admin, leaking, "2026-03-13", added=[("5", None)])

        with refused("evacuation_visit", "after 2026-03-13"):
            file_case(officer, leaking, "mothballed", "2026-03-14", evacuation_visit=visit.reference)

    def test_what_is_mothballed_can_not_be_mothballed_again(self, admin, officer, leaking):
        visit = file(admin, leaking, "2026-03-12", removed=[("80", None)])
        file_case(officer, leaking, "mothballed", "2026-03-12", evacuation_visit=visit.reference)

        with refused("happened_on", "mothballed since 2026-03-12"):
            file_case(officer, leaking, "mothballed", "2026-03-14", evacuation_visit=visit.reference)

    def test_only_what_was_mothballed_returns(self, officer, leaking):
        with refused("happened_on", "Expected a mothballed appliance"):
            file_case(officer, leaking, "returned_to_service", "2026-03-12")

    def test_a_return_without_refrigerant_is_filed_and_warned_about(self, admin, officer, leaking):
        visit = file(admin, leaking, "2026-03-12", removed=[("80", None)])
        file_case(officer, leaking, "mothballed", "2026-03-12", evacuation_visit=visit.reference)

        file_case(officer, leaking, "returned_to_service", "2026-04-01")

        assert _repair(leaking).status == "suspended"
        assert "no refrigerant added" in leaking.assessment.warnings[0]

    def test_an_amended_day_moves_the_clock(self, admin, officer, leaking):
        visit = file(admin, leaking, "2026-03-12", removed=[("80", None)])
        filing = file_case(officer, leaking, "mothballed", "2026-03-12", evacuation_visit=visit.reference)
        file(admin, leaking, "2026-06-01", added=[("80", None)])

        amend_case(officer, filing, "2026-03-22", filed_on="2026-06-02", evacuation_visit=visit.reference)

        # Ten days were left on 22 March.
        assert _repair(leaking).due_on == day("2026-06-11")


class TestSeasonalVariance:
    """40 CFR 82.152, *seasonal variance*: no more put back than taken out, within 12 months; 84.106(l)(12)."""

    @pytest.fixture
    def closed(self, admin, chiller):
        return file(admin, chiller, "2026-01-10", removed=[("20", None)], reason="seasonal_variance")

    def test_it_rests_on_two_visits(self, admin, officer, chiller, closed):
        opened = file(admin, chiller, "2026-05-10", added=[("20", None)], reason="seasonal_variance")

        filing = file_case(
            officer,
            chiller,
            "seasonal_variance",
            "2026-05-10",
            removal_visit=closed.reference,
            addition_visit=opened.reference,
        )

        assert filing.details["removal_visit"] == closed.reference
        assert not chiller.leak_rates.exists()

    def test_the_end_of_a_season_has_the_removal_alone(self, officer, chiller, closed):
        assert file_case(
            officer, chiller, "seasonal_variance", "2026-01-11", removal_visit=closed.reference
        ).pk

    def test_what_was_taken_out_for_service_is_none(self, admin, officer, chiller, closed):
        other = file(admin, chiller, "2026-01-12", removed=[("5", None)])

        with refused("removal_visit", "seasonal adjustment", "84.102"):
            file_case(officer, chiller, "seasonal_variance", "2026-01-13", removal_visit=other.reference)

    @pytest.mark.parametrize(("on", "is_within"), [("2027-01-10", True), ("2027-01-11", False)])
    def test_it_is_put_back_within_twelve_months(self, admin, officer, chiller, closed, on, is_within):
        # A later season keeps the paragraph open on the day of the filing.
        file(admin, chiller, "2026-12-01", removed=[("1", None)], reason="seasonal_variance")
        opened = file(admin, chiller, on, added=[("20", None)], reason="seasonal_variance")
        visits = {"removal_visit": closed.reference, "addition_visit": opened.reference}
        if is_within:
            file_case(officer, chiller, "seasonal_variance", on, **visits)
            return
        with refused("addition_visit", "within 12 months from 2026-01-10"):
            file_case(officer, chiller, "seasonal_variance", on, **visits)

    def test_no_more_is_put_back_than_was_taken_out(self, admin, officer, chiller, closed):
        opened = file(admin, chiller, "2026-05-10", added=[("21", None)], reason="seasonal_variance")

        with refused("addition_visit", "what is over counts as service"):
            file_case(
                officer,
                chiller,
                "seasonal_variance",
                "2026-05-10",
                removal_visit=closed.reference,
                addition_visit=opened.reference,
            )
