"""California's grounds for a later repair: recorded with their evidence, refused outside 17 CCR 95386.

45 days, or 120 for a process of a facility that reports its greenhouse gases, after the leak was found: as the state's
agency tells 95386 on its page about leak repair. What the records have to say is from memory.
"""

import pytest
from django.urls import reverse

from compliance.models import Obligation
from compliance.rulebook.filings.specs import FilingKind
from compliance.selectors.filing_record import filing_record
from compliance.selectors.papers.filing_paper import filing_paper
from compliance.selectors.papers.links import paper_of
from tests.compliance.filings.acts import CALIFORNIAN, file_case, record_ground
from tests.compliance.filings.refused import refused
from tests.compliance.firm import add_appliance, add_customer, add_site, day, file, noon, over_the_threshold

pytestmark = pytest.mark.django_db

SECTION = "17 CCR 95386"
PARTS, TECHNICIAN = "california_parts", "california_technician"
SHUTDOWN, PROCESS = "california_shutdown", "california_reporting_process"


@pytest.fixture
def cove(admin):
    return add_site(admin, add_customer(admin), "Alder Cove", jurisdiction="us-california")


@pytest.fixture
def rack(admin, cove):
    """100 lb of commercial refrigeration; a leak of 2 March 2026 is due on the 16th, by the state's rule alone."""
    rack = add_appliance(admin, "Rack C", site=cove, category="commercial_refrigeration")
    file(admin, rack, "2026-03-02", found=["A"])
    return rack


@pytest.fixture
def dryer(admin, cove):
    """The same leak in an industrial process."""
    dryer = add_appliance(admin, "Dryer", site=cove, category="industrial_process_refrigeration")
    file(admin, dryer, "2026-03-02", found=["A"])
    return dryer


def _due(appliance):
    rows = Obligation.objects.filter(appliance=appliance, rule="us-california")
    return {row.kind: row.due_on for row in rows if row.kind in {"repair", "initial_verification_test"}}


@pytest.mark.parametrize("basis", [PARTS, TECHNICIAN])
def test_parts_or_a_technician_not_to_be_had_give_45_days(officer, rack, basis):
    record_ground(officer, rack, basis, "2026-03-16")

    assert set(_due(rack).values()) == {day("2026-04-16")}


@pytest.mark.parametrize(("basis", "due"), [(SHUTDOWN, "2026-04-16"), (PROCESS, "2026-06-30")])
def test_a_shutdown_gives_45_days_or_120_where_the_gases_are_reported(officer, dryer, basis, due):
    record_ground(officer, dryer, basis, "2026-03-10")

    assert set(_due(dryer).values()) == {day(due)}


def test_the_longer_days_may_follow_the_shorter_ones(officer, dryer):
    record_ground(officer, dryer, PARTS, "2026-03-10")

    record_ground(officer, dryer, PROCESS, "2026-04-16")

    assert set(_due(dryer).values()) == {day("2026-06-30")}


@pytest.mark.parametrize("basis", [SHUTDOWN, PROCESS])
def test_a_shutdown_is_of_industrial_processes_alone(officer, rack, basis):
    with refused("basis", "this appliance is commercial refrigeration", SECTION):
        record_ground(officer, rack, basis, "2026-03-10")


@pytest.mark.parametrize("basis", CALIFORNIAN)
def test_it_is_recorded_within_the_time(officer, dryer, basis):
    with refused("happened_on", "which was over", SECTION):
        record_ground(officer, dryer, basis, "2026-03-17")


def test_where_the_federal_time_still_runs_the_states_is_what_counts(admin, officer, rack):
    # 25 % on 5 March: the federal repair is due on 4 April.
    file(admin, rack, "2026-03-05", added=[("25", "B")], found=["B"])

    with refused("happened_on", "California’s time for the repair, which was over: by 2026-03-16", SECTION):
        record_ground(officer, rack, PARTS, "2026-03-20")


def test_a_repair_that_is_done_gets_no_more_time(admin, officer, rack):
    file(admin, rack, "2026-03-05", repaired=[rack.leaks.get()])

    with refused("happened_on", "it asked for none on 2026-03-10", SECTION):
        record_ground(officer, rack, PARTS, "2026-03-10")


@pytest.mark.parametrize("obligation", ["initial_verification_test", "follow_up_verification_test"])
def test_it_is_for_the_repair(officer, rack, obligation):
    with refused("obligation", "no other time is longer", SECTION):
        record_ground(officer, rack, PARTS, "2026-03-10", obligation=obligation)


@pytest.mark.parametrize(("former", "basis"), [(PARTS, PARTS), (PARTS, TECHNICIAN), (PROCESS, SHUTDOWN)])
def test_a_ground_that_gives_no_more_is_refused(officer, dryer, former, basis):
    record_ground(officer, dryer, former, "2026-03-10")

    with refused("basis", "already", SECTION):
        record_ground(officer, dryer, basis, "2026-03-11")


@pytest.mark.parametrize(
    ("basis", "name"), [(basis, name) for basis, evidence in CALIFORNIAN.items() for name in evidence]
)
def test_its_record_is_needed(officer, dryer, basis, name):
    with refused(name, "Expected an entry", SECTION):
        record_ground(officer, dryer, basis, "2026-03-10", **{name: None})


@pytest.mark.parametrize(("expected_on", "is_taken"), [("2026-03-10", True), ("2026-03-09", False)])
def test_what_is_expected_is_still_to_come(officer, rack, expected_on, is_taken):
    if is_taken:
        assert record_ground(officer, rack, TECHNICIAN, "2026-03-10", available_on=expected_on).pk
        return
    with refused("available_on", "from 2026-03-10 on", SECTION):
        record_ground(officer, rack, TECHNICIAN, "2026-03-10", available_on=expected_on)


@pytest.mark.parametrize("name", ["supplier", "signed_by", "completion_estimate"])
def test_nothing_of_a_request_is_asked(officer, rack, name):
    with refused(name, "Expected nothing here"):
        record_ground(officer, rack, PARTS, "2026-03-10", **{name: "2026-04-10"})


@pytest.mark.parametrize("basis", CALIFORNIAN)
def test_elsewhere_no_rule_knows_it(admin, officer, chiller, basis):
    over_the_threshold(admin, chiller, "2026-03-02")

    with refused("basis", "“Radiological contamination”", SECTION):
        record_ground(officer, chiller, basis, "2026-03-10")


def test_where_the_states_rule_alone_applies_a_request_is_refused(admin, officer, cove):
    # 40 CFR 84.106 begins on 2026-01-01, and no hydrofluorocarbon is under 82.157.
    rack = add_appliance(admin, "Rack D", site=cove, category="commercial_refrigeration")
    file(admin, rack, "2025-07-01", found=["A"])

    with refused("basis", "“Parts are not to be had in time (California)”", "40 CFR 82.157(f)(1)"):
        file_case(officer, rack, "extension", "2025-07-05", completion_estimate="2025-07-20")
    record_ground(officer, rack, PARTS, "2025-07-05")

    assert _due(rack)["repair"] == day("2025-08-15")


def test_a_request_that_no_rule_takes_is_refused(officer, rack):
    # The federal rules apply to it, but have no case below their threshold; the state's knows no such ground.
    radiological = {
        "basis": "radiological",
        "radiological_conditions": "The room is closed.",
        "completion_estimate": "2026-03-15",
        **dict.fromkeys(("parts_needed", "supplier", "delivery_expected_on")),
    }

    with refused("obligation", "Expected a request that some rule takes for the repair", SECTION):
        file_case(officer, rack, "extension", "2026-03-10", **radiological)

    assert _due(rack)["repair"] == day("2026-03-16")


def test_another_regulation_gives_the_state_s_repair_no_longer_days(admin, officer, dryer):
    file(admin, dryer, "2026-03-02", added=[("40", "B")], found=["B"])
    file_case(officer, dryer, "industrial_process_shutdown_required", "2026-03-03")

    file_case(
        officer,
        dryer,
        "extension",
        "2026-03-10",
        basis="other_regulation",
        regulation="State boiler code",
        **dict.fromkeys(("parts_needed", "supplier", "delivery_expected_on")),
        completion_estimate="2026-07-15",
    )

    assert _due(dryer)["repair"] == day("2026-04-16")
    assert Obligation.objects.get(appliance=dryer, kind="repair", rule="us-federal-hfc").due_on == day(
        "2026-07-15"
    )


def test_its_record_cites_the_states_section_alone(officer, rack):
    filing = record_ground(officer, rack, PARTS, "2026-03-10")

    assert filing_record(filing, filing.filed_at).citation == SECTION


def test_the_record_of_a_request_cites_the_federal_section_alone(admin, officer, rack):
    file(admin, rack, "2026-03-05", added=[("25", "B")], found=["B"])

    filing = file_case(officer, rack, "extension", "2026-03-10")

    assert filing_record(filing, filing.filed_at).citation == "40 CFR 84.106(f)(4)"


def test_it_waits_for_no_answer_and_has_no_paper(officer, rack):
    filing = record_ground(officer, rack, PARTS, "2026-03-10")

    assert paper_of(filing) is None
    with refused("happened_on", "that waits for an answer"):
        file_case(officer, rack, "agency_answer", "2026-03-11", answer="refused")


class TestPages:
    @pytest.fixture
    def desk(self, client, officer, time_machine):
        time_machine.move_to(noon(day("2026-03-10")))
        client.force_login(officer)
        return client

    def _grounds(self, desk, appliance):
        page = desk.get(reverse("filing-add", args=[appliance.pk, "extension"]))
        return {value for value, _ in page.context["form"].fields["basis"].choices}

    def test_the_grounds_are_offered_where_the_rule_applies(self, admin, desk, rack, chiller):
        over_the_threshold(admin, chiller, "2026-03-02")

        assert {*CALIFORNIAN} < self._grounds(desk, rack)
        assert self._grounds(desk, chiller) == {"parts", "radiological", "other_regulation"}

    def test_it_is_filed_with_the_form_and_told_in_words(self, desk, rack):
        page = desk.post(
            reverse("filing-add", args=[rack.pk, "extension"]),
            {
                "submission_id": "0d0c4d0e-6a0c-4c0c-8a64-4cc95fbcd3a1",
                "happened_on": "2026-03-10",
                "obligation": "repair",
                "basis": TECHNICIAN,
                "technicians_asked": "T. Okafor: not before May.",
                "kept_at": "Machine room",
                "signed_by": "a box that the ground hides",
            },
            follow=True,
        )

        assert "No certified technician is to be had in time (California)" in page.text
        assert "a box that the ground hides" not in page.text
        assert _due(rack)["repair"] == day("2026-04-16")

    def test_the_paper_of_a_request_knows_none_of_them(self, admin, officer, rack):
        file(admin, rack, "2026-03-09", added=[("25", "B")], found=["B"])
        record_ground(officer, rack, PARTS, "2026-03-10")

        now = noon(day("2026-03-10"))
        paper = filing_paper(rack, FilingKind.EXTENSION, as_of=day("2026-03-10"), known_at=now)

        assert paper is not None
        assert paper.filed is None
        lines = {line.label: line for line in paper.lines}
        assert [choice.label for choice in lines["Ground"].choices] == [
            "Parts or components are not to be had in time",
            "Radiological contamination",
            "Another regulation forbids the work in time",
        ]
        assert "Where the records of it are kept" not in lines
        assert lines["Why the work can’t be done in time"].only_for == ""
