"""One obligation's page: why it exists, by when, what meets it, and what has happened since."""

import pytest
from django.urls import reverse
from django.utils.html import strip_tags

from compliance.models import Obligation
from compliance.selectors.obligation_case import obligation_case
from tests.compliance.filings.acts import file_case
from tests.compliance.firm import (
    FOLLOW_UP,
    INITIAL,
    add_appliance,
    add_customer,
    add_site,
    day,
    file,
    leak,
    noon,
    over_the_threshold,
)

pytestmark = pytest.mark.django_db

NOW = noon(day("2026-03-16"))


@pytest.fixture
def case(admin, chiller, time_machine):
    """Over on 2 March, repaired and tested on the 10th: the follow-up test is due on the 20th (40 CFR 84.106(e)(2))."""
    file(admin, chiller, "2026-02-01", added=[("2", None)])
    over_the_threshold(admin, chiller, "2026-03-02")
    file(admin, chiller, "2026-03-10", repaired=[leak(chiller)], passed=[(INITIAL, leak(chiller))])
    time_machine.move_to(NOW)
    return Obligation.objects.get(kind="follow_up_verification_test")


def _page(obligation):
    return reverse("obligation-detail", args=[obligation.pk])


def test_the_case_goes_back_to_the_addition_that_started_it(case):
    story = obligation_case(case, NOW)

    assert story.started_by.on == day("2026-03-02")
    assert [step.event.happened_on for step in story.steps] == [day("2026-03-02"), day("2026-03-10")]
    assert [row.kind for row in story.related] == ["repair", "initial_verification_test"]


def test_each_step_says_what_it_opened_and_met(case):
    first, second = obligation_case(case, NOW).steps

    assert {row.kind for row in first.opened} == {"repair", "initial_verification_test"}
    assert {row.kind for row in second.met} == {"repair", "initial_verification_test"}
    assert [row.kind for row in second.opened] == ["follow_up_verification_test"]
    assert "Repaired Leak 1: Brazed anew." in second.sentences


def test_a_later_addition_over_the_threshold_is_a_step_not_the_start(admin, chiller):
    over_the_threshold(admin, chiller, "2026-03-02")
    file(admin, chiller, "2026-03-10", added=[("12", None)])
    repair = Obligation.objects.get(kind="repair")

    story = obligation_case(repair, NOW)

    assert story.started_by.on == day("2026-03-02")
    assert len(story.steps) == 2


@pytest.fixture
def two_cases(admin, chiller):
    """Over on 2 March and through on the 18th; over again on 4 May: 12 / 100 * 365 / 63 = 69.52 % (40 CFR 84.102)."""
    over_the_threshold(admin, chiller, "2026-03-02")
    file(admin, chiller, "2026-03-10", repaired=[leak(chiller)], passed=[(INITIAL, leak(chiller))])
    file(admin, chiller, "2026-03-18", passed=[(FOLLOW_UP, leak(chiller))])
    file(admin, chiller, "2026-05-04", added=[("12", "B")], found=["B"])
    file(admin, chiller, "2026-05-12", repaired=[leak(chiller, 2)], passed=[(INITIAL, leak(chiller, 2))])
    return Obligation.objects.filter(kind="repair").order_by("opened_on")


def test_a_case_ends_where_the_next_one_begins(two_cases):
    first, second = (obligation_case(repair, noon(day("2026-05-16"))) for repair in two_cases)

    assert [step.on.isoformat() for step in first.steps] == ["2026-03-02", "2026-03-10", "2026-03-18"]
    assert max(row.opened_on for row in first.related) == day("2026-03-18")
    assert first.followed_by == two_cases[1]
    assert [step.on.isoformat() for step in second.steps] == ["2026-05-04", "2026-05-12"]
    assert second.started_by.on == day("2026-05-04")
    assert second.followed_by is None


def test_what_a_later_visit_settles_is_told_on_its_own_page(two_cases):
    """The inspection within a year of the follow-up test (40 CFR 84.106(g)(1)) came with the visit of 4 May."""
    inspection = Obligation.objects.filter(kind="leak_inspection").earliest("opened_on")

    story = obligation_case(inspection, noon(day("2026-05-16")))

    assert story.followed_by == two_cases[1]
    assert [step.on.isoformat() for step in story.steps][-2:] == ["2026-03-18", "2026-05-04"]


def test_the_page_leads_to_the_next_case(client, officer, two_cases, time_machine):
    time_machine.move_to(noon(day("2026-05-16")))
    client.force_login(officer)

    text = client.get(_page(two_cases[0])).text

    assert f'<a href="{_page(two_cases[1])}">The next case</a> begins' in text
    assert "The next case" not in client.get(_page(two_cases[1])).text


def test_leaks_that_have_a_case_each_are_told_together(admin):
    """California: each leak found is to be repaired within 14 days (17 CCR 95386(b)); the second is found meanwhile."""
    site = add_site(admin, add_customer(admin), jurisdiction="us-california")
    rack = add_appliance(admin, "Rack", site=site, refrigerant="R-404A", category="commercial_refrigeration")
    file(admin, rack, "2026-03-02", found=["A"])
    file(admin, rack, "2026-03-09", found=["B"])
    first = Obligation.objects.filter(kind="repair", rule="us-california").earliest("opened_on")

    case = obligation_case(first, NOW)

    assert case.followed_by is None
    assert [step.on.isoformat() for step in case.steps] == ["2026-03-02", "2026-03-09"]


def test_the_page_tells_all_of_it(client, officer, case):
    client.force_login(officer)

    text = strip_tags(client.get(_page(case)).text)

    for words in (
        "Due in 4 days",
        "Friday, 2026-03-20",
        "2026-03-10 + 10 days = 2026-03-20",
        "40 CFR 84.106(e)(2)",
        "A filed follow-up verification test that every open leak passes.",
        "Found Leak 1: Joint A, Machine room.",
        # 12 lb of 100 lb, 29 days after the last addition: 12 / 100 * 365 / 29 = 151.03 % (40 CFR 84.102).
        "151.03",
    ):
        assert words in text


def test_a_technician_is_led_to_the_form_that_settles_it(client, technician_user, case):
    client.force_login(technician_user)

    form = reverse("event-add", args=[case.appliance_id])

    assert f'href="{form}?settles=follow_up_verification_test"' in client.get(_page(case)).text


def test_an_officer_who_files_nothing_is_not(client, officer, case):
    client.force_login(officer)

    assert "?settles=" not in client.get(_page(case)).text


def test_what_is_settled_offers_nothing_to_file(client, admin, technician_user, case):
    file(admin, case.appliance, "2026-03-15", passed=[(FOLLOW_UP, leak(case.appliance))])
    client.force_login(technician_user)

    text = client.get(_page(case)).text

    assert "?settles=" not in text
    assert "Met" in text


def test_a_date_that_rests_on_memory_says_so(client, officer, case):
    Obligation.objects.update(is_confirmed=False)
    client.force_login(officer)

    assert "This rests on an unconfirmed source." in client.get(_page(case)).text


@pytest.mark.parametrize(("opened_on", "is_said"), [("2025-05-31", True), ("2025-06-01", False)])
def test_what_began_before_the_books_says_so(client, officer, case, opened_on, is_said):
    Obligation.objects.update(opened_on=day(opened_on))
    client.force_login(officer)

    # The firm of these tests registered its appliances on 1 June 2025.
    assert ("This began before the appliance’s books did." in client.get(_page(case)).text) is is_said


def test_names_that_look_like_markup_stay_text(client, admin, officer, chiller, time_machine):
    chiller.name = "<script>alert(1)</script>"
    chiller.save()
    over_the_threshold(admin, chiller, "2026-03-02")
    client.force_login(officer)

    assert "<script>alert(1)" not in client.get(_page(Obligation.objects.get(kind="repair"))).text


def test_a_stranger_sees_nothing(client, stranger, case):
    client.force_login(stranger)

    assert client.get(_page(case)).status_code == 403


def test_an_obligation_that_a_record_has_undone_is_not_found(client, officer, case):
    client.force_login(officer)
    gone = case.pk
    case.delete()

    assert client.get(reverse("obligation-detail", args=[gone])).status_code == 404


def test_the_page_takes_a_fixed_number_of_queries(client, admin, officer, case, django_assert_num_queries):
    client.force_login(officer)
    client.get(_page(case))
    for number in range(3):
        file(admin, case.appliance, f"2026-03-1{number + 2}", found=["B"], removed=[("1", None)])

    with django_assert_num_queries(33):
        client.get(_page(case))


def test_a_filing_that_opened_or_met_it_is_named_and_linked(admin, client, officer, chiller, time_machine):
    over_the_threshold(admin, chiller, "2026-03-02")
    time_machine.move_to(noon(day("2026-03-20")))
    filing = file_case(officer, chiller, "retrofit_or_retirement_plan", "2026-03-20")
    client.force_login(officer)
    link = f'href="{reverse("filing-detail", args=[filing.pk])}">{filing}</a>'

    for kind, word in (("retrofit_or_retirement_plan", "Met"), ("retrofit_or_retirement", "Opened")):
        page = client.get(_page(Obligation.objects.get(kind=kind))).content.decode()
        (fact,) = (row for row in page.split("</dd>") if f"<dt>{word}</dt>" in row)
        assert link in fact
