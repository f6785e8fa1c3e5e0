"""Filing through the form, from the boxes to the record and its answer."""

import pytest
from django.urls import reverse

from compliance.models import LeakRate
from jobs.models import Leak, ServiceEvent
from jobs.selectors.ledger import appliance_book_mg, cylinder_contents
from tests.compliance.events.posting import addition, removal, visit_data
from tests.compliance.events.scene import register_cylinder
from tests.factories import CertificationFactory

# 1 lb = 453 592.37 mg exactly (NIST Handbook 44, appendix C).
LB_MG = 453_592.37


@pytest.fixture
def url(scene):
    return reverse("event-add", args=[scene.appliance.pk])


def _file(client, url, data):
    """Send the form and follow to the answer."""
    response = client.post(url, data, follow=True)
    assert response.status_code == 200
    assert response.redirect_chain, [error.message for error in response.context["page"].errors]
    return response


def test_own_work_with_refrigerant_in_is_filed_and_answered(technician_client, scene, url):
    # First calculation under part 84 takes 365 days (40 CFR 84.106(b)(1)): 7 / 60 × 100 = 11.67 %, over 10 % (c)(2).
    response = _file(technician_client, url, visit_data(scene, {"transfers": [addition(scene, "7")]}))

    event = ServiceEvent.objects.get()
    transfer = event.transfers.get()
    assert event.filed_by == scene.user
    assert event.technician == scene.technician
    assert event.certification.number == "U-1001"
    assert (transfer.entered_value, transfer.entered_unit, transfer.mass_mg) == ("7", "lb", 3_175_147)
    assert cylinder_contents(scene.supply) == {"R-410A": round(25 * LB_MG) - 3_175_147}
    assert response.request["PATH_INFO"] == reverse("event-detail", args=[event.pk])
    page = response.content.decode()
    assert "11.67 %" in page
    assert "Over the 10 % threshold" in page
    assert "Leak repair" in page
    # 30 days from the day refrigerant was added (40 CFR 84.106(d)).
    assert "2026-10-01" in page
    assert "Tell the owner now." in page


def test_an_addition_within_the_headroom_answers_not_over(technician_client, scene, url):
    # 5 / 60 × 100 = 8.33 %.
    response = _file(technician_client, url, visit_data(scene, {"transfers": [addition(scene, "5")]}))

    page = response.content.decode()
    assert "8.33 %" in page
    assert "Not over the 10 % threshold" in page
    assert "Tell the owner now." not in page


def test_what_is_taken_out_and_put_back_keeps_both_gross_masses(technician_client, scene, url):
    rows = {"transfers": [removal(scene, "12.5"), addition(scene, "14")]}

    _file(technician_client, url, visit_data(scene, rows))

    event = ServiceEvent.objects.get()
    assert [row.mass_mg for row in event.transfers.order_by("position")] == [5_669_905, 6_350_293]
    assert cylinder_contents(scene.recovery) == {"R-410A": 5_669_905}
    # Net 1.5 lb of 60 lb in 365 days.
    assert str(LeakRate.objects.get().rate_pct) == "2.50"


@pytest.mark.parametrize(
    ("boxes", "mass_mg"),
    [
        ({"mass_value": "3", "mass_ounces": "4.5", "mass_unit": "lb+oz"}, 1_488_350),
        ({"mass_value": "2.25", "mass_unit": "kg"}, 2_250_000),
        ({"mass_value": "900", "mass_unit": "g"}, 900_000),
        ({"mass_value": "40", "mass_unit": "oz"}, 1_133_981),
    ],
)
def test_each_unit_is_kept_as_typed_beside_its_milligrams(technician_client, scene, url, boxes, mass_mg):
    row = {"direction": "in", "cylinder": scene.supply.pk, **boxes}

    _file(technician_client, url, visit_data(scene, {"transfers": [row]}))

    transfer = ServiceEvent.objects.get().transfers.get()
    assert transfer.mass_mg == mass_mg
    assert transfer.entered_unit == boxes["mass_unit"]


def test_a_leak_found_repaired_and_tested_on_one_visit(technician_client, scene, url):
    rows = {
        "transfers": [addition(scene, "7", leak="new-1")],
        "leaks": [{"part": "Flare fitting", "location": "Liquid line"}],
        "repairs": [{"leak": "new-1", "work_done": "Flare remade"}],
        "tests": [
            {
                "leak": "new-1",
                "kind": "initial_verification_test",
                "method": "Bubble solution",
                "is_passed": "yes",
            }
        ],
    }
    boxes = {
        "work_kinds": ["leak_inspection", "leak_repair", "verification"],
        "inspection_methods": ["Electronic detector", "other"],
        "inspection_other": "Helium sniffer",
        "is_back_to_normal": "on",
    }

    response = _file(technician_client, url, visit_data(scene, rows, **boxes))

    event = ServiceEvent.objects.get()
    leak = Leak.objects.get()
    assert leak.number == 1
    assert event.transfers.get().leak == leak
    assert event.repairs.get().leak == leak
    assert event.verification_tests.get().is_passed
    assert event.leak_inspection.methods == "Electronic detector, Helium sniffer"
    assert [row.kind for row in event.statements.all()] == ["normal_operation"]
    page = response.content.decode()
    assert "Met by this visit" in page
    assert "Initial verification test" in page


def test_a_leak_on_record_is_chosen_by_later_visits(technician_client, scene, url):
    first = {"leaks": [{"part": "Flare fitting", "location": "Liquid line"}]}
    _file(technician_client, url, visit_data(scene, first, inspection_methods=["Bubble solution"]))
    leak = Leak.objects.get()

    _file(
        technician_client,
        url,
        visit_data(scene, {"repairs": [{"leak": leak.pk, "work_done": "Flare remade"}]}),
    )

    assert ServiceEvent.objects.order_by("pk").last().repairs.get().leak == leak
    assert Leak.objects.count() == 1


def test_another_contractors_work_needs_no_cylinder_and_no_technician(technician_client, scene, url):
    rows = {"transfers": [{"direction": "in", "mass_value": "4"}]}
    boxes = {"origin": "other_contractor", "contractor_name": "Drayton Mechanical", "technician": ""}

    response = _file(technician_client, url, visit_data(scene, rows, **boxes))

    transfer = ServiceEvent.objects.get().transfers.get()
    assert transfer.from_holder.name == "Drayton Mechanical"
    assert "Another contractor&#x27;s work: Drayton Mechanical" in response.content.decode()


def test_an_apprentice_files_under_a_certified_supervisor(technician_client, scene, url):
    # 40 CFR 82.161(a): an apprentice is exempt while closely and continually supervised.
    boxes = {"technician": scene.apprentice.pk, "supervisor": scene.technician.pk}

    response = _file(technician_client, url, visit_data(scene, **boxes))

    event = ServiceEvent.objects.get()
    assert event.supervisor == scene.technician
    assert event.certification.technician == scene.technician
    assert "supervised by Tamsin Okafor" in response.content.decode()


def test_an_opened_circuit_records_its_final_vacuum(technician_client, scene, url):
    boxes = {
        "is_circuit_opened": "on",
        "opening_kind": "major",
        "final_vacuum": "380",
        "final_vacuum_unit": "micron",
    }

    response = _file(technician_client, url, visit_data(scene, **boxes))

    assert ServiceEvent.objects.get().final_vacuum == 380
    assert "380 micron" in " ".join(response.content.decode().replace("</span>", "").split()).replace(
        '<span class="number">', ""
    )


def test_a_changed_full_charge_and_other_statements_are_recorded(technician_client, scene, url):
    rows = {
        "statements": [
            {
                "kind": "full_charge_change",
                "full_charge_value": "64",
                "full_charge_unit": "lb",
                "method": "measurement",
            },
            {"kind": "retired"},
        ]
    }

    response = _file(technician_client, url, visit_data(scene, rows, is_back_to_normal="on"))

    statements = list(ServiceEvent.objects.get().statements.all())
    assert [row.kind for row in statements] == [
        "normal_operation",
        "full_charge_change",
        "retired",
    ]
    assert statements[1].details == {"full_charge_mg": 29_029_912, "method": "measurement"}
    assert "full charge 64.000 lb (29.030 kg)" in response.content.decode()


def test_a_drawn_signature_is_shown_with_the_record(technician_client, scene, url):
    boxes = {"signature_name": "Lev Brandt", "signature_svg_path": "M10 20L30 40L50 20M60 60L70 70"}

    response = _file(technician_client, url, visit_data(scene, **boxes))

    page = response.content.decode()
    assert "Lev Brandt" in page
    assert '<path d="M10 20L30 40L50 20M60 60L70 70"/>' in page


def test_an_owner_told_with_the_filing_is_not_prompted_for(technician_client, scene, url):
    boxes = {"owner_told_on": "2026-09-01", "owner_told_name": "Lev Brandt", "owner_decision": "accepted"}

    response = _file(
        technician_client, url, visit_data(scene, {"transfers": [addition(scene, "7")]}, **boxes)
    )

    page = response.content.decode()
    assert "Over the 10 % threshold" in page
    assert "Tell the owner now." not in page


def test_the_same_form_sent_twice_files_once_and_shows_the_first_record(technician_client, scene, url):
    data = visit_data(scene, {"transfers": [addition(scene, "7")]})
    _file(technician_client, url, data)

    response = _file(technician_client, url, data)

    assert ServiceEvent.objects.count() == 1
    assert "Already filed; this is that record." in response.content.decode()
    assert cylinder_contents(scene.supply) == {"R-410A": round(25 * LB_MG) - 3_175_147}


def test_the_same_visit_typed_again_is_taken_for_the_first_one(technician_client, scene, url):
    rows = {"transfers": [addition(scene, "7")]}
    _file(technician_client, url, visit_data(scene, rows))

    response = _file(technician_client, url, visit_data(scene, rows))

    assert ServiceEvent.objects.count() == 1
    assert "Already filed; this is that record." in response.content.decode()


def test_a_second_visit_with_the_same_figures_is_filed_when_it_says_so(technician_client, scene, url):
    rows = {"transfers": [addition(scene, "7")]}
    _file(technician_client, url, visit_data(scene, rows))

    _file(technician_client, url, visit_data(scene, rows, is_separate_visit="on"))

    assert ServiceEvent.objects.count() == 2
    assert appliance_book_mg(scene.appliance) == round(60 * LB_MG) + 2 * 3_175_147


def test_where_no_leak_rate_is_asked_for_the_answer_says_so(technician_client, scene, url):
    # Regulation (EU) 2024/573 asks for leak checks at intervals and for no leak rate.
    CertificationFactory(technician=scene.technician, type="eu_a1")
    site = scene.appliance.site
    site.jurisdiction, site.country = "eu", "DE"
    site.save()

    response = _file(technician_client, url, visit_data(scene, {"transfers": [addition(scene, "7")]}))

    assert "No leak rate comes of this visit" in response.content.decode()
    assert "No leak rate threshold applies" in technician_client.get(url).content.decode()


def test_rows_may_be_left_blank_in_between(technician_client, scene, url):
    other = register_cylinder(scene.admin, "CY-300", "refillable", contents="10")
    rows = {"transfers": [{}, addition(scene, "3"), {}, addition(scene, "2", cylinder=other.pk)]}

    _file(technician_client, url, visit_data(scene, rows))

    assert [row.entered_value for row in ServiceEvent.objects.get().transfers.order_by("position")] == [
        "3",
        "2",
    ]
