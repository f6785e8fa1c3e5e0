"""The annual report's figures are those of the rulebook, whether they were calculated before or are now."""

import random
from datetime import date, datetime, timedelta

import pytest

from compliance.models import ApplianceAssessment
from compliance.selectors.reports.annual_leak_rate import AnnualReport
from jobs.models import Appliance, StatementKind
from jobs.services.appliances import appliance_change
from jobs.services.customers import site_change
from portal.accounts.models import User
from tests.compliance.firm import amend, day, file, noon, over_the_threshold, pounds
from tests.compliance.histories import lively_firm
from tests.compliance.reports.asking import answer, assert_same_as_calculated, assess_all, question

SLUG = "annual-leak-rate"
ASSESSED_AT = noon(day("2026-08-15"))


def asked(as_of: str = "2026-08-15", known_at: datetime = ASSESSED_AT, **further: object) -> AnnualReport:
    report: AnnualReport = answer(SLUG, question(as_of=day(as_of), known_at=known_at, **further))
    return report


@pytest.mark.parametrize("seed", [1, *(pytest.param(seed, marks=pytest.mark.proof) for seed in range(2, 40))])
def test_what_is_stored_is_what_the_records_give(admin: User, seed: int) -> None:
    lively_firm(admin, seed)
    assess_all(ASSESSED_AT)
    source = random.Random(seed)
    at_once = asked()
    later = [
        asked((ASSESSED_AT + timedelta(days=source.randint(1, 200))).date().isoformat()) for _ in range(3)
    ]
    before = [
        asked((ASSESSED_AT - timedelta(days=source.randint(1, 200))).date().isoformat()) for _ in range(3)
    ]

    assert at_once.figures.calculated_count == 0
    assert at_once.figures.rate_count > 0
    for report in (at_once, *later, *before, asked(year=2025), asked(known_at=noon(day("2026-06-30")))):
        assert_same_as_calculated(report)


def registered_anew(admin: User, appliance: Appliance) -> None:
    appliance_change(
        by=admin, appliance=appliance, is_residential_or_light_commercial=True, subsector_reason="A heat pump"
    )


def other_jurisdiction(admin: User, appliance: Appliance) -> None:
    site_change(by=admin, site=appliance.site, jurisdiction="us-california")


def other_law(admin: User, appliance: Appliance) -> None:
    ApplianceAssessment.objects.update(tables_version="former")


def other_rulebook(admin: User, appliance: Appliance) -> None:
    ApplianceAssessment.objects.update(rulebook_version="former")


def never_assessed(admin: User, appliance: Appliance) -> None:
    ApplianceAssessment.objects.all().delete()


def filed_since(admin: User, appliance: Appliance) -> None:
    file(admin, appliance, "2026-08-10", added=[("4", None)], filed_at=ASSESSED_AT - timedelta(hours=1))
    ApplianceAssessment.objects.update(assessed_at=ASSESSED_AT - timedelta(hours=2))


@pytest.mark.parametrize(
    "change", [registered_anew, other_jurisdiction, other_law, other_rulebook, never_assessed, filed_since]
)
def test_what_may_be_another_answer_is_calculated(admin: User, chiller: Appliance, change) -> None:
    over_the_threshold(admin, chiller, "2026-03-02")
    assess_all(ASSESSED_AT)
    assert asked().figures.calculated_count == 0

    change(admin, chiller)

    report = asked(known_at=datetime.now(tz=ASSESSED_AT.tzinfo))
    assert report.figures.calculated_count == 1
    assert_same_as_calculated(report)


def test_what_was_filed_after_the_instant_asked_about_does_not_count(admin: User, chiller: Appliance) -> None:
    event = over_the_threshold(admin, chiller, "2026-03-02")
    known_at = noon(day("2026-04-10"))
    amend(admin, event, "2026-03-02", added=[("3", None)], filed_at=known_at + timedelta(days=1))
    assess_all(ASSESSED_AT)

    then, now = asked("2026-04-10", known_at), asked()

    assert_same_as_calculated(then)
    assert (then.figures.calculated_count, now.figures.calculated_count) == (1, 0)
    assert (len(then.figures.over), len(now.figures.over)) == (1, 0)


# Source: 40 CFR 84.106(d), 30 days for the repair: still open on 1 April, overdue on 2 April.
def test_a_stored_clock_counts_until_its_answer_ends(admin: User, chiller: Appliance) -> None:
    over_the_threshold(admin, chiller, "2026-03-02")
    assess_all(noon(day("2026-03-20")))

    held, ended = asked("2026-04-01"), asked("2026-04-02")

    assert (held.figures.calculated_count, ended.figures.calculated_count) == (0, 1)
    assert ("repair", "open", 1) in held.figures.clocks
    assert ("repair", "overdue", 1) in ended.figures.clocks


@pytest.mark.parametrize("as_of", ["2026-03-01", "2026-03-02", "2026-08-15"])
def test_charge_and_refrigerant_are_those_of_the_years_end(
    admin: User, chiller: Appliance, as_of: str
) -> None:
    at = noon(day("2026-07-01"))
    new = {"refrigerant": "R-32", "full_charge_mg": pounds("80").mass_mg}
    file(admin, chiller, "2026-03-02", stated=[(StatementKind.RETROFITTED, new)], filed_at=at)
    charge = {"full_charge_mg": pounds("70").mass_mg, "method": "measurement"}
    file(admin, chiller, "2026-02-02", stated=[(StatementKind.FULL_CHARGE_CHANGE, charge)], filed_at=at)
    assess_all(noon(date.fromisoformat(as_of)))

    report = asked(as_of)

    (row,) = report.figures.appliances
    expected = ("R-410A", "70") if as_of == "2026-03-01" else ("R-32", "80")
    assert (row.refrigerant, row.full_charge_mg) == (expected[0], pounds(expected[1]).mass_mg)
    assert_same_as_calculated(report)
