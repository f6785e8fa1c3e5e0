"""Purged refrigerant that was destroyed is left out of the leak rate, within 40 CFR 84.106(k), (l)(11) and (m)(5).

The paragraph's figures, an efficiency of 98 percent and a notice within 60 days, are those of the eCFR (read
2026-09-25). Rates are reckoned by hand: pounds added less pounds destroyed, over a full charge of 100 lb.
"""

import datetime

import pytest
from django.urls import reverse
from django.utils.html import strip_tags

from compliance.models import Obligation
from compliance.selectors.facts import appliance_facts, assess_appliance
from compliance.selectors.facts_in_bulk import facts_in_bulk
from compliance.services.case_filings import case_filing_withdraw
from jobs.models import Appliance
from jobs.services.events import service_event_void
from tests.compliance.filings.acts import amend_case, file_case
from tests.compliance.filings.refused import refused
from tests.compliance.firm import amend, day, file, noon, over_the_threshold

pytestmark = pytest.mark.django_db

LB_5 = {"value": "5", "unit": "lb", "mg": 2267962}
LB_12 = {"value": "12", "unit": "lb", "mg": 5443109}
LB_13 = {"value": "13", "unit": "lb", "mg": 5896701}


@pytest.fixture
def leaking(admin, chiller):
    """12 % on 2 March 2026, over the 10 % of comfort cooling."""
    return over_the_threshold(admin, chiller, "2026-03-02")


def _purge(by, visit, on="2026-03-03", **evidence):
    evidence = {"addition_visit": visit.reference, **evidence}
    return file_case(by, visit.appliance, "purged_and_destroyed", on, **evidence)


def _rate(appliance):
    return [str(rate.rate_pct) for rate in appliance.leak_rates.order_by("position")]


def _left_out_mg(appliance, known_at=None):
    return [fact.purged_and_destroyed_mg for fact in appliance_facts(appliance, known_at)[1] if fact.mass_mg]


class TestLeftOut:
    def test_what_was_destroyed_lowers_the_rate_and_ends_the_case(self, officer, chiller, leaking):
        assert _rate(chiller) == ["12.00"]

        _purge(officer, leaking)

        # 12 lb - 5 lb = 7 lb of 100 lb, under 10 %.
        assert _rate(chiller) == ["7.00"]
        assert not Obligation.objects.filter(appliance=chiller, kind="repair").exists()

    def test_the_arithmetic_says_so(self, officer, chiller, leaking):
        _purge(officer, leaking)

        because = chiller.leak_rates.get().because
        assert "12.000 lb put in − 5.000 lb purged and destroyed = 7.000 lb added" in because

    def test_withdrawn_it_counts_again(self, officer, chiller, leaking):
        filing = _purge(officer, leaking)

        case_filing_withdraw(
            by=officer, filing=filing, reason="Never measured", filed_at=noon(day("2026-03-05"))
        )

        assert _rate(chiller) == ["12.00"]
        assert Obligation.objects.filter(appliance=chiller, kind="repair").exists()

    def test_an_amended_figure_counts(self, officer, chiller, leaking):
        filing = _purge(officer, leaking)

        amend_case(
            officer,
            filing,
            "2026-03-04",
            addition_visit=leaking.reference,
            destroyed={"value": "1", "unit": "lb", "mg": 453592},
        )

        assert _rate(chiller) == ["11.00"]

    def test_it_is_known_from_its_filing_on(self, officer, chiller, leaking):
        filing = _purge(officer, leaking)

        before = filing.filed_at - datetime.timedelta(seconds=1)
        assert _left_out_mg(chiller, before) == [0]
        assert _left_out_mg(chiller, filing.filed_at) == [LB_5["mg"]]
        answer = assess_appliance(chiller, as_of=day("2026-03-10"), known_at=before)
        assert any(row.kind == "repair" for row in answer.obligations)

    def test_it_follows_the_visit_through_its_amendments(self, admin, officer, chiller, leaking):
        _purge(officer, leaking)
        first = amend(admin, leaking, "2026-03-02", filed_at=noon(day("2026-03-06")), added=[("11", None)])
        assert _rate(chiller) == ["6.00"]

        _purge(officer, first, "2026-03-07", destroyed={"value": "2", "unit": "lb", "mg": 907185})
        amend(admin, first, "2026-03-02", filed_at=noon(day("2026-03-08")), added=[("10", None)])

        # 10 lb - 5 lb - 2 lb: both are of one visit, whichever record of it they name.
        assert _rate(chiller) == ["3.00"]

    def test_many_at_once_read_the_same(self, officer, chiller, leaking):
        filing = _purge(officer, leaking)

        (one,) = facts_in_bulk(Appliance.objects.select_related("site"), filing.filed_at)

        assert one.facts == appliance_facts(chiller, filing.filed_at)[1]
        assert sum(fact.purged_and_destroyed_mg for fact in one.facts) == LB_5["mg"]

    def test_of_several_additions_the_first_is_used_up_first(self, admin, officer, chiller):
        visit = file(admin, chiller, "2026-03-02", added=[("4", "A"), ("8", "B")], found=["A", "B"])

        _purge(officer, visit)

        four_lb_mg = 1814369
        assert _left_out_mg(chiller) == [four_lb_mg, LB_5["mg"] - four_lb_mg]


class TestRefused:
    @pytest.mark.parametrize(("percent", "is_taken"), [("98", True), ("97.99", False), ("100.1", False)])
    def test_less_than_the_efficiency(self, officer, leaking, percent, is_taken):
        if is_taken:
            _purge(officer, leaking, destruction_efficiency_pct=percent)
            return
        with refused("destruction_efficiency_pct", "98 % or more", "84.106(k)"):
            _purge(officer, leaking, destruction_efficiency_pct=percent)

    def test_more_than_was_added(self, officer, leaking):
        _purge(officer, leaking, destroyed=LB_12)
        with refused("destroyed", "12.000 lb, of which 12.000 lb are left out already", "84.106(k)"):
            _purge(officer, leaking, "2026-03-04")

    def test_more_than_was_added_at_once(self, officer, leaking):
        with refused("destroyed", "no more than what the visit added, 12.000 lb"):
            _purge(officer, leaking, destroyed=LB_13)

    def test_an_addition_that_counts_as_no_leak(self, admin, officer, chiller, leaking):
        file(admin, chiller, "2026-03-04", removed=[("3", None)], reason="seasonal_variance")
        season = file(admin, chiller, "2026-03-05", added=[("3", None)], reason="seasonal_variance")

        with refused("addition_visit", "whose addition counts as leaked"):
            _purge(officer, season, "2026-03-06")

    def test_an_appliance_without_an_addition(self, officer, chiller):
        with refused("happened_on", "there was none", "84.106(k)"):
            file_case(officer, chiller, "purged_and_destroyed", "2026-03-03", addition_visit="SE-000001")

    @pytest.mark.parametrize(
        ("begin", "end", "field"),
        [("2026-02-01", "2026-03-03", "purged_until"), ("2026-02-02", "2026-02-01", "purged_until")],
    )
    def test_purged_after_it_was_replaced_or_backwards(self, officer, leaking, begin, end, field):
        with refused(field, "Expected"):
            _purge(officer, leaking, purged_from=begin, purged_until=end)

    @pytest.mark.parametrize(("on", "is_taken"), [("2026-05-01", True), ("2026-05-02", False)])
    def test_without_a_notice_once_that_is_overdue(self, officer, leaking, on, is_taken):
        # 2026-03-02 + 60 days = 2026-05-01.
        if is_taken:
            _purge(officer, leaking, on)
            return
        with refused("notice", "within 60 days, by 2026-05-01", "84.106(m)(5)"):
            _purge(officer, leaking, on)

    def test_a_notice_of_a_day_to_come(self, officer, leaking):
        with refused("notice_sent_on", "no later than 2026-03-03"):
            _purge(officer, leaking, notice="sent", notice_sent_on="2026-03-04", sent_by="By e-mail")

    def test_evidence_that_is_missing_is_named_with_its_paragraph(self, officer, leaking):
        with refused("control_device", "control device", "84.106(l)(11)"):
            _purge(officer, leaking, control_device=None)


class TestTheVisitChangesLater:
    def test_it_can_not_come_to_less_than_was_destroyed(self, admin, officer, chiller, leaking):
        filing = _purge(officer, leaking)

        with refused("transfers", f"5.000 lb added for service that {filing} states", "84.106(k)"):
            amend(admin, leaking, "2026-03-02", filed_at=noon(day("2026-03-06")), added=[("4", None)])

        assert _rate(chiller) == ["7.00"]

    def test_it_can_not_be_voided_under_it(self, admin, officer, chiller, leaking):
        filing = _purge(officer, leaking)

        with refused("transfers", f"{filing} states"):
            service_event_void(
                by=admin, event=leaking, reason="Never took place", filed_at=noon(day("2026-03-06"))
            )

        case_filing_withdraw(by=officer, filing=filing, reason="Wrong", filed_at=noon(day("2026-03-07")))
        service_event_void(by=admin, event=leaking, reason="Never", filed_at=noon(day("2026-03-08")))
        assert not chiller.leak_rates.exists()


class TestNotice:
    def test_the_page_says_until_when_it_is_owed(self, client, officer, leaking):
        filing = _purge(officer, leaking)
        client.force_login(officer)

        page = client.get(reverse("filing-detail", args=[filing.pk]))

        assert "is due by 2026-05-01 (40 CFR 84.106(m)(5))" in " ".join(strip_tags(page.text).split())

    def test_sent_it_is_owed_no_more(self, client, officer, leaking):
        filing = _purge(
            officer, leaking, "2026-03-04", notice="sent", notice_sent_on="2026-03-03", sent_by="By e-mail"
        )
        client.force_login(officer)

        assert "is due by" not in client.get(reverse("filing-detail", args=[filing.pk])).text
