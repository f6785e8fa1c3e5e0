"""The demo firm: large enough, closed in the books, alive on any day, the same for the same day."""

import pytest
from django.contrib.admin import site
from django.db.models import Count
from django.test import Client
from django.urls import reverse

from compliance.models import Obligation, ObligationStatus, Reminder, ReminderAcknowledgement
from compliance.rulebook.expiries import ExpiryKind
from compliance.selectors.acknowledgements import is_escalated, open_escalations
from compliance.selectors.expiries import expiries
from jobs.models import (
    Appliance,
    ApplianceCategory,
    BuyerProof,
    CaseFiling,
    Customer,
    Cylinder,
    CylinderPressureCheck,
    LeakRateMethodChange,
    ServiceEvent,
    Site,
    StockMovement,
    Technician,
    WorkOrigin,
)
from jobs.selectors.ledger import refrigerant_totals
from jobs.services.chain import CYLINDER_RECORDS
from portal.demo.firm import read_firm
from portal.demo.stories import STORIES
from tests.demo_firm import NOW, load
from tests.factories import UserFactory

pytestmark = pytest.mark.django_db


def test_demo_firm_has_the_size_of_a_real_one(demo_firm: None) -> None:
    assert Customer.objects.count() >= 6
    assert Site.objects.count() >= 14
    assert Appliance.objects.count() >= 60
    assert Technician.objects.count() >= 9
    assert Cylinder.objects.count() >= 40
    assert {a.category for a in Appliance.objects.all()} == set(ApplianceCategory.values)
    days = ServiceEvent.objects.values_list("happened_on", flat=True)
    assert (max(days) - min(days)).days > 2.7 * 365
    assert set(ServiceEvent.objects.values_list("origin", flat=True)) == set(WorkOrigin.values)


def test_books_close_to_zero_for_every_refrigerant(demo_firm: None) -> None:
    totals = refrigerant_totals()

    assert len(totals) > 10
    assert set(totals.values()) == {0}


def test_cylinders_show_every_record_of_their_life(demo_firm: None) -> None:
    for model in (*CYLINDER_RECORDS.values(), BuyerProof):
        assert model.objects.exists(), model
    kinds = set(StockMovement.objects.values_list("kind", flat=True))
    assert kinds >= {"opening", "purchase", "sale", "reclamation", "heel", "adjustment", "receipt_difference"}


def test_the_administration_lists_and_opens_every_kind_of_row(demo_firm: None) -> None:
    client = Client()
    client.force_login(UserFactory(is_staff=True, is_superuser=True))
    own = [model for model in site._registry if model._meta.app_label in ("jobs", "compliance")]

    assert len(own) > 40
    for model in own:
        name = f"admin:{model._meta.app_label}_{model._meta.model_name}"
        assert client.get(reverse(f"{name}_changelist")).status_code == 200, model
        if row := model._default_manager.order_by("pk").first():
            address = reverse(f"{name}_change", args=[row.pk])
            assert client.get(address).status_code == 200, model
            assert client.post(address, {}).status_code == 403, model


def test_board_shows_every_stage_of_the_clocks(demo_firm: None) -> None:
    counts = dict(Obligation.objects.values_list("status").annotate(n=Count("pk")))

    assert set(counts) >= {
        ObligationStatus.OPEN,
        ObligationStatus.OVERDUE,
        ObligationStatus.MET,
        ObligationStatus.FAILED,
        ObligationStatus.SUSPENDED,
    }
    kinds = set(Obligation.objects.values_list("kind", flat=True))
    assert kinds >= {
        "repair",
        "initial_verification_test",
        "follow_up_verification_test",
        "leak_inspection",
        "chronic_leak_report",
        "retrofit_or_retirement_plan",
        "retrofit_or_retirement",
    }


def test_the_annual_reports_of_past_years_were_sent_in_time(demo_firm: None) -> None:
    """By 1 March for the calendar year before (17 CCR 95388)."""
    annual = Obligation.objects.filter(kind="annual_report")

    assert set(annual.values_list("status", flat=True)) == {ObligationStatus.MET}


def test_an_acquired_site_changed_its_leak_rate_method_and_things_run_out(demo_firm: None) -> None:
    assert LeakRateMethodChange.objects.get().site.name == "Kittering Road clinic"
    kinds = {expiry.kind for expiry in expiries(NOW.date()) if -365 < expiry.days_left < 60}
    assert kinds == set(ExpiryKind)


def test_requests_were_answered_and_a_ground_of_the_state_is_on_record(demo_firm: None) -> None:
    asked = {"extension", "relief_requested", "plan_extension"}
    answered = CaseFiling.objects.filter(kind="agency_answer").values_list("appliance", flat=True)

    assert (
        set(CaseFiling.objects.filter(kind__in=asked, appliance__in=answered).values_list("kind", flat=True))
        == asked
    )
    assert CaseFiling.objects.filter(kind="relief_requested").exclude(appliance__in=answered).exists()
    ground = CaseFiling.objects.get(details__basis="california_parts")
    repair = Obligation.objects.get(appliance=ground.appliance, rule="us-california", kind="repair")
    # 45 days instead of 14 (17 CCR 95386).
    assert (repair.status, (repair.due_on - repair.opened_on).days) == ("open", 45)


def test_obligations_were_given_and_reminders_answered_or_left(demo_firm: None) -> None:
    given = Obligation.objects.filter(status__in=["open", "overdue"], assignment__isnull=False)
    holders = {row.assignment.technician or row.assignment.user for row in given.select_related("assignment")}
    assert {str(holder) for holder in holders if holder} >= {"Maren Fennimore", "Cassius Bright"}
    assert given.filter(assignment__technician=None, assignment__user=None).exists()

    answers = ReminderAcknowledgement.objects.all()
    assert set(answers.values_list("way", "recipient_name")) == {
        ("portal", "Cassius Bright"),
        ("link", "Barnaby Esk"),
    }
    unanswered = open_escalations()
    assert set(unanswered.values_list("user__email", flat=True)) == {"officer@fennimore-oduya.example"}
    assert Obligation.objects.filter(is_escalated(), kind="repair").exists()
    assert not Reminder.objects.filter(state="failed").exists()


def test_loading_twice_changes_nothing(demo_firm: None) -> None:
    before = ServiceEvent.objects.count()

    load()

    assert ServiceEvent.objects.count() == before


def test_every_story_is_told(demo_firm: None) -> None:
    told = {
        appliance["story"]
        for customer in read_firm(NOW.date()).data["customers"]
        for site in customer["sites"]
        for appliance in site["appliances"]
    }
    assert told == set(STORIES)


def test_a_recovery_cylinder_shows_air_and_a_supply_cylinder_none(demo_firm: None) -> None:
    verdicts = set(CylinderPressureCheck.objects.values_list("cylinder__kind", "verdict"))

    assert verdicts == {("refillable", "fits"), ("recovery", "too_high")}
