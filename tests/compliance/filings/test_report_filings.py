"""Reports that were sent, and leak detection (40 CFR 84.106(j), (m)(4), (g)(4), 82.157(g)(4); 17 CCR 95388)."""

import pytest

from compliance.models import Obligation
from tests.compliance.filings.acts import file_case
from tests.compliance.filings.refused import refused
from tests.compliance.firm import add_appliance, add_customer, add_site, file

pytestmark = pytest.mark.django_db


def _owed(appliance):
    return list(
        Obligation.objects.filter(appliance=appliance).order_by("key").values_list("key", "due_on", "status")
    )


class TestChronicLeakReport:
    @pytest.fixture
    def chronic(self, admin, chiller):
        """125 lb of 100 lb within 2026: 125 % is reported by 1 March 2027 (40 CFR 84.106(j))."""
        for on in ("2026-02-01", "2026-05-01", "2026-08-01"):
            file(admin, chiller, on, added=[("42", None)])
        return chiller

    def test_it_meets_what_is_owed(self, officer, chronic):
        filing = file_case(officer, chronic, "chronic_leak_report_filed", "2027-02-01")

        owed = Obligation.objects.get(appliance=chronic, kind="chronic_leak_report")
        assert (owed.status, owed.met_by_filing) == ("met", filing)

    def test_it_keeps_what_the_report_lists(self, officer, chronic):
        case = file_case(officer, chronic, "chronic_leak_report_filed", "2027-02-01").case

        # 40 CFR 84.106(m)(4): owner, facility, appliance, charge, days and amounts of additions.
        assert case["owner_or_operator"] == "Larkspur Grocers"
        assert [row["on"] for row in case["additions"]] == ["2026-02-01", "2026-05-01", "2026-08-01"]

    @pytest.mark.parametrize("name", ["cause", "repair_actions", "has_plan", "signed_by"])
    def test_what_the_paragraph_lists_is_needed(self, officer, chronic, name):
        with refused(name, "Expected an entry", "84.106(j), (m)(4)"):
            file_case(officer, chronic, "chronic_leak_report_filed", "2027-02-01", **{name: None})

    def test_it_is_about_the_year_that_is_owed(self, officer, chronic):
        with refused("year", "Expected 2026"):
            file_case(officer, chronic, "chronic_leak_report_filed", "2027-02-01", year=2025)

    def test_where_none_is_owed_none_is_filed(self, officer, chiller):
        with refused("happened_on", "none was on 2027-02-01", "84.106(j)"):
            file_case(officer, chiller, "chronic_leak_report_filed", "2027-02-01")


class TestAnnualReport:
    def test_it_is_of_california_alone(self, officer, chiller):
        with refused("kind", "jurisdiction", "17 CCR 95388"):
            file_case(officer, chiller, "annual_report_filed", "2026-02-01")

    def test_it_meets_what_is_owed(self, admin, officer):
        site = add_site(admin, add_customer(admin), "Alder Cove", jurisdiction="us-california")
        system = add_appliance(admin, "Rack", site=site, charge_lb="300", category="commercial_refrigeration")
        file(admin, system, "2025-07-01", added=[("1", None)])

        filing = file_case(officer, system, "annual_report_filed", "2026-02-01")

        owed = Obligation.objects.get(appliance=system, kind="annual_report")
        assert (owed.status, owed.met_by_filing) == ("met", filing)


class TestLeakDetection:
    """10 and 100 ppm, and 50 lb or 10 % of the charge, from 40 CFR 82.157(g)(4) as read."""

    @pytest.fixture
    def rack(self, admin):
        return add_appliance(
            admin, "Rack", refrigerant="R-22", charge_lb="400", category="commercial_refrigeration"
        )

    @pytest.mark.parametrize(
        ("name", "given", "is_taken"),
        [
            ("detects_ppm", "10", True),
            ("detects_ppm", "11", False),
            ("alarms_ppm", "100", True),
            ("alarms_ppm", "101", False),
        ],
    )
    def test_direct_detection_senses_and_alarms_early(self, officer, rack, name, given, is_taken):
        evidence = {
            "detection_type": "direct",
            "alarms_at_loss": None,
            "detects_ppm": "5",
            "alarms_ppm": "50",
            name: given,
        }
        if is_taken:
            file_case(officer, rack, "automatic_leak_detection", "2026-03-02", **evidence)
            return
        with refused(name, "ppm or less", "82.157(g)(4)"):
            file_case(officer, rack, "automatic_leak_detection", "2026-03-02", **evidence)

    @pytest.mark.parametrize(("mg", "is_taken"), [(18_143_695, True), (18_143_697, False)])
    def test_indirect_detection_alarms_at_the_smaller_loss(self, officer, rack, mg, is_taken):
        # 10 % of 400 lb is 40 lb, 18,143,694.8 mg, and less than 50 lb.
        loss = {"value": "40", "unit": "lb", "mg": mg}
        if is_taken:
            file_case(officer, rack, "automatic_leak_detection", "2026-03-02", alarms_at_loss=loss)
            return
        with refused("alarms_at_loss", "50 lb or 10 %", "82.157(g)(4)"):
            file_case(officer, rack, "automatic_leak_detection", "2026-03-02", alarms_at_loss=loss)

    def test_what_is_not_installed_is_not_calibrated(self, officer, rack):
        with refused("happened_on", "none was installed by 2026-03-02", "82.157(g)(4), (l)(4)"):
            file_case(officer, rack, "leak_detection_calibration", "2026-03-02")

    def test_what_is_not_installed_does_not_alarm(self, officer, rack):
        with refused("happened_on", "none was installed by 2026-03-02", "82.157(l)(4)"):
            file_case(officer, rack, "leak_detection_alarm", "2026-03-02")

    def test_an_alarm_has_its_place_and_starts_no_clock(self, officer, rack):
        file_case(officer, rack, "automatic_leak_detection", "2026-03-02")
        with refused("location", "where it found the leak", "82.157(l)(4)"):
            file_case(officer, rack, "leak_detection_alarm", "2026-04-02", location=None)
        owed = _owed(rack)

        filing = file_case(officer, rack, "leak_detection_alarm", "2026-04-02")

        assert filing.details == {"location": "Receiver, machine room"}
        assert _owed(rack) == owed

    def test_a_calibration_meets_the_yearly_one(self, officer, rack):
        file_case(officer, rack, "automatic_leak_detection", "2026-03-02")

        filing = file_case(officer, rack, "leak_detection_calibration", "2027-02-01")

        met = Obligation.objects.filter(appliance=rack, kind="leak_detection_calibration", status="met")
        assert met.get().met_by_filing == filing
