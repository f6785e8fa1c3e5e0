"""The pages of a cylinder's life: what they file, what they show, what undoes it."""

import datetime
import uuid
from typing import Any

import pytest
import time_machine
from django.test import Client
from django.urls import reverse

from jobs.models import (
    BuyerProof,
    Contamination,
    CylinderMove,
    CylinderWeighing,
    HeelRemoval,
    ShipmentReceipt,
    StockMovement,
)
from jobs.selectors.ledger import cylinder_contents
from tests import people
from tests.factories import CylinderFactory, TechnicianFactory, entered, supply_cylinder
from tests.jobs.cylinder_acts import mark_mixed, receive, sell, weigh
from tests.jobs.pages.conftest import browser_of
from tests.jobs.test_transfer_refusals import ship

pytestmark = pytest.mark.django_db


def record(**fields: object) -> dict[str, object]:
    return {"submission_id": str(uuid.uuid4()), "happened_on": "2026-03-05", "note": "", **fields}


def mass(name: str, value: str = "", unit: str = "lb") -> dict[str, str]:
    return {f"{name}_value": value, f"{name}_ounces": "", f"{name}_unit": unit}


def page(client: Client, cylinder: object) -> str:
    return client.get(reverse("cylinder-detail", args=[cylinder.pk])).content.decode()


def test_a_technician_moves_a_cylinder_into_the_van(technician: Client) -> None:
    cylinder, holder = CylinderFactory(), TechnicianFactory()
    sent = record(place="van", technician=holder.pk, reason="work", moved_by="Ivo Brandt")

    response = technician.post(reverse("cylinder-move-add", args=[cylinder.pk]), sent, follow=True)

    assert f"From Shop to {holder}’s van, by Ivo Brandt." in response.content.decode()
    assert CylinderMove.objects.get().technician == holder


def test_a_move_without_its_van_is_refused_at_the_field(technician: Client) -> None:
    sent = record(place="van", reason="work", moved_by="Ivo Brandt")

    response = technician.post(reverse("cylinder-move-add", args=[CylinderFactory().pk]), sent)

    assert "technician" in response.context["form"].errors


def test_a_technician_weighs_a_cylinder_and_sees_the_difference(technician: Client) -> None:
    cylinder = supply_cylinder("25 lb")
    sent = record(**mass("gross", "52.5"), **mass("uncertainty", "0.1"))

    response = technician.post(reverse("cylinder-weighing-add", args=[cylinder.pk]), sent, follow=True)

    html = response.content.decode()
    assert "Difference −0.500 lb, beyond the scale&#x27;s ± 0.100 lb." in html
    assert reverse("stock-adjust", args=[CylinderWeighing.objects.get().pk]) not in html


def test_a_weighing_without_its_uncertainty_is_refused_at_the_field(technician: Client) -> None:
    sent = record(**mass("gross", "52.5"), **mass("uncertainty"))

    response = technician.post(reverse("cylinder-weighing-add", args=[supply_cylinder().pk]), sent)

    assert "You gave nothing" in response.context["form"].errors["uncertainty"][0]


def test_the_officer_adjusts_the_books_from_the_month(officer: Client) -> None:
    cylinder = supply_cylinder("25 lb")
    weighing = weigh(cylinder, "52.5 lb")
    address = reverse("stock-adjust", args=[weighing.pk])

    before = officer.get(f"{reverse('reconciliation')}?month=2026-03").content.decode()
    officer.post(address, {"submission_id": str(uuid.uuid4()), "reason": "Hose losses."})
    after = officer.get(f"{reverse('reconciliation')}?month=2026-03").content.decode()

    assert address in before
    assert address not in after
    assert "Hose losses." in after
    assert cylinder_contents(cylinder) == {"R-410A": weighing.net_mg}


def test_the_month_closes_and_tells_the_running_total(officer: Client) -> None:
    cylinder = supply_cylinder("25 lb")
    sell(cylinder, "10 lb")

    response = officer.get(f"{reverse('reconciliation')}?month=2026-03")

    (account,) = response.context["month"].accounts
    assert (account.opening_mg, account.lines["Sold"]) == (
        entered("25 lb").mass_mg,
        -entered("10 lb").mass_mg,
    )
    assert account.is_closed
    assert "Closes to zero" in response.content.decode()


@pytest.mark.parametrize("month", ["2026-13", "march", "2026-03-01"])
def test_a_month_that_is_none_is_not_found(officer: Client, month: str) -> None:
    assert officer.get(f"{reverse('reconciliation')}?month={month}").status_code == 404


def test_a_month_without_books_says_so(officer: Client) -> None:
    assert "Nothing to reconcile" in officer.get(reverse("reconciliation")).content.decode()


def test_a_cylinder_marked_as_mixed_says_so_on_its_page_and_in_the_list(technician: Client) -> None:
    cylinder = supply_cylinder("25 lb")
    sent = record(refrigerants="R-410A, R-22", finding="Pressure above the table.")

    technician.post(reverse("contamination-add", args=[cylinder.pk]), sent)

    html = page(technician, cylinder)
    assert Contamination.objects.get().refrigerants == ["R-22", "R-410A"]
    assert "Mixed or contaminated: R-22 and R-410A." in html
    assert "0.99" in html
    assert "Mixed</span>" in technician.get(reverse("cylinder-list")).content.decode()


def test_a_heel_is_removed_with_its_statement(technician: Client) -> None:
    cylinder = CylinderFactory(kind="disposable", refrigerant="R-410A")
    sent = record(
        removed_by=TechnicianFactory().pk,
        level_in_hg_vacuum="15",
        destination_kind="final_processor",
        destination_name="Marsh Metals",
        statement="Heel removed.",
        **mass("mass"),
    )

    technician.post(reverse("heel-removal-add", args=[cylinder.pk]), sent)

    assert HeelRemoval.objects.get().movement is None
    assert "to 15 in Hg vacuum; the cylinder went to Marsh Metals" in page(technician, cylinder)


def test_the_officer_alone_decides_on_another_period(officer: Client, admin: Client) -> None:
    cylinder = CylinderFactory()
    address = reverse("requalification-period-add", args=[cylinder.pk])
    sent = record(years="10", reason="Reclaimed gas alone.")

    assert admin.post(address, sent).status_code == 403
    officer.post(address, sent)

    cylinder.refresh_from_db()
    assert cylinder.requalification_period_years == 10
    assert "10 years: Reclaimed gas alone." in page(officer, cylinder)


def test_a_receipt_is_filed_once_and_can_be_withdrawn(admin: Client) -> None:
    shipment = ship(supply_cylinder("25 lb"), document_number="BOL-9")
    address = reverse("shipment-receipt-add", args=[shipment.pk])

    before = page(admin, shipment.cylinder)
    admin.post(address, record(**mass("mass", "24.5"), document_number="RC-1"))
    after = page(admin, shipment.cylinder)

    assert address in before
    assert address not in after
    assert "Difference −0.500 lb." in after
    receipt = ShipmentReceipt.objects.get()
    sent = {"submission_id": str(uuid.uuid4()), "reason": "Other cylinder."}
    admin.post(reverse("withdrawal-add", args=[receipt.RECORD_KIND, receipt.pk]), sent)
    assert address in page(admin, shipment.cylinder)


def test_a_record_of_no_kind_is_not_found(admin: Client) -> None:
    assert admin.get(reverse("withdrawal-add", args=["stock_movement", 1])).status_code == 404


def test_a_sale_is_filed_reversed_and_kept(admin: Client) -> None:
    cylinder = supply_cylinder("25 lb")
    sent = record(
        **mass("mass", "10"),
        buyer_name="Quarry Lane Cooling",
        basis="employer",
        technician_name="Ada Quill",
        certification_type="universal",
        certification_number="U-1",
        proof="Letter of the employer, binder 3.",
        document_number="S-9",
    )

    admin.post(reverse("sale-add", args=[cylinder.pk]), sent)
    sale = StockMovement.objects.get(kind="sale")
    listed = admin.get(f"{reverse('stock-list')}?kind=sale&q=quarry").content.decode()
    admin.post(
        reverse("stock-reverse", args=[sale.pk]), {"submission_id": str(uuid.uuid4()), "reason": "Not sold."}
    )

    # 40 CFR 82.154(c)(3): three years.
    assert "Keep until 2029-03-05" in listed
    assert "Employs a certified technician, no. U-1" in listed
    assert cylinder_contents(cylinder) == {"R-410A": entered("25 lb").mass_mg}
    assert "Reversed" in admin.get(reverse("stock-list")).content.decode()


def test_a_sale_without_proof_is_refused_at_the_field_with_the_paragraph(admin: Client) -> None:
    sent = record(**mass("mass", "1"), buyer_name="Someone", basis="certified", document_number="S-9")

    response = admin.post(reverse("sale-add", args=[supply_cylinder().pk]), sent)

    assert "40 CFR 82.154(c)(1)" in response.context["form"].errors["certification_number"][0]


def test_a_firm_certified_in_the_union_files_sales_there(admin: Client, settings: Any) -> None:
    sent = record(
        **mass("mass", "1"),
        buyer_name="Hafen Kaelte",
        basis="certified",
        document_number="S-9",
        is_in_the_union="on",
    )
    url = reverse("sale-add", args=[supply_cylinder().pk])

    assert "Sold in the European Union" not in admin.get(url).content.decode()
    settings.FIRM_CERTIFICATE_EU = "EU-F-2041"

    page = admin.get(url).content.decode()
    assert "Sold in the European Union" in page
    assert "EU A1" in page
    assert "Kept 3 years with buyer, date and mass (40 CFR 82.154(c)(3))" in page
    assert "in the European Union 5 years (Regulation (EU) 2024/573 Art. 7(3))" in page
    refused = admin.post(url, sent).context["form"].errors
    assert "2024/573 Art. 11(6), 7(3)" in refused["certification_number"][0]
    certificate = {
        "technician_name": "Ada Quill",
        "certification_type": "eu_a1",
        "certification_number": "EU-7",
    }
    admin.post(url, sent | certificate)
    assert BuyerProof.objects.get().certification_type == "eu_a1"
    assert "Regulation (EU) 2024/573 Art. 7(3)" in admin.get(reverse("stock-list")).content.decode()


# Marked on 2 April 2021: due by the end of April 2026 (49 CFR 180.209; common practice for the month's end).
@pytest.mark.parametrize(
    ("today", "due", "is_listed"),
    [
        (datetime.date(2026, 3, 1), "60", True),
        (datetime.date(2026, 2, 28), "60", False),
        (datetime.date(2026, 1, 30), "90", True),
        (datetime.date(2026, 1, 29), "90", False),
        (datetime.date(2026, 5, 1), "0", True),
        (datetime.date(2026, 4, 29), "0", False),
    ],
)
def test_the_list_narrows_to_what_is_due(today: datetime.date, due: str, *, is_listed: bool) -> None:
    cylinder = CylinderFactory(requalified_on=datetime.date(2021, 4, 2))
    CylinderFactory(kind="disposable", requalified_on=datetime.date(2001, 4, 2))

    with time_machine.travel(datetime.datetime.combine(today, datetime.time(18), datetime.UTC), tick=False):
        technician = browser_of(people.technician_user())
        html = technician.get(f"{reverse('cylinder-list')}?due={due}").content.decode()

    assert (str(cylinder) in html) is is_listed
    assert ("No cylinder is due" in html) is not is_listed


def test_the_life_counts_a_withdrawn_record_no_more_and_still_shows_it(admin: Client) -> None:
    cylinder = supply_cylinder("25 lb")
    shipment = ship(cylinder)
    receive(shipment, "25 lb")
    mark = mark_mixed(cylinder, "R-32")
    sent = {"submission_id": str(uuid.uuid4()), "reason": "Wrong gauge."}

    admin.post(reverse("withdrawal-add", args=[mark.RECORD_KIND, mark.pk]), sent)

    html = page(admin, cylinder)
    assert "counts no more: Wrong gauge." in html
    assert "Mixed or contaminated: R-32" not in html


def test_the_officer_posts_the_difference_to_a_receipt(officer: Client) -> None:
    receipt = receive(ship(supply_cylinder("25 lb")), "24.5 lb")
    address = reverse("receipt-difference-add", args=[receipt.pk])
    month = f"{reverse('reconciliation')}?month=2026-03"
    before = officer.get(month).content.decode(), page(officer, receipt.cylinder)

    sent = {"submission_id": str(uuid.uuid4()), "reason": "Weighed wet."}
    officer.post(address, sent)
    after = officer.get(month).content.decode(), page(officer, receipt.cylinder)

    assert all(address in html for html in before)
    assert not any(address in html for html in after)
    assert all("Weighed wet." in html for html in after)
    assert "0.500 lb of R-410A from Three Rivers to Stock difference." in after[1]
    assert "Weighed wet." in officer.get(f"{reverse('stock-list')}?kind=receipt_difference").content.decode()


def sheet(**changes: str) -> dict[str, object]:
    fields = {"result": "passed", "method": "proof_pressure", "requalifier": "Ironbridge", "reason": ""}
    more = {"identification_number": "H417", "test_pressure_psi": "", "document_number": "T-1"}
    return record(**{**fields, **more, **changes})


def test_the_office_files_a_test_and_the_register_follows(admin: Client) -> None:
    cylinder = CylinderFactory(requalified_on=datetime.date(2020, 4, 2))

    admin.post(reverse("requalification-test-add", args=[cylinder.pk]), sheet())

    html = page(admin, cylinder)
    assert "Proof pressure test by Ironbridge, RIN H417, report no. T-1. Marked 3 H417 26." in html
    cylinder.refresh_from_db()
    assert cylinder.requalified_on == datetime.date(2026, 3, 5)
    form = admin.get(reverse("cylinder-change", args=[cylinder.pk])).context["form"]
    assert form.fields["requalified_on"].disabled


def test_a_condemned_cylinder_says_so_wherever_it_is_chosen(admin: Client, officer: Client) -> None:
    cylinder = CylinderFactory()
    address = reverse("requalification-test-add", args=[cylinder.pk])

    admin.post(address, sheet(result="condemned", reason="Pit in the lower head."))

    html = page(admin, cylinder)
    assert "Condemned on 2026-03-05." in html
    assert "Pit in the lower head." in html
    assert address not in html
    assert "Condemned</span>" in admin.get(reverse("cylinder-list")).content.decode()
    register = officer.get(reverse("report", args=["cylinder-register"])).content.decode()
    assert "condemned: not to be filled" in register


def test_a_test_is_refused_at_the_field_with_the_paragraph(admin: Client) -> None:
    address = reverse("requalification-test-add", args=[CylinderFactory().pk])

    low = admin.post(address, sheet(test_pressure_psi="700")).context["form"].errors
    nameless = admin.post(address, sheet(identification_number=" ")).context["form"].errors

    assert "800 psig or more" in low["test_pressure_psi"][0]
    assert "49 CFR 180.209(a), table 1" in low["test_pressure_psi"][0]
    assert "You gave nothing" in nameless["identification_number"][0]


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("purchase-add", "came overfilled"),
        ("shipment-add", "relief valve"),
        ("sale-add", "relief valve"),
        ("cylinder-move-add", "relief valve"),
        ("cylinder-weighing-add", "overfilled"),
        ("contamination-add", "Never vent"),
        ("heel-removal-add", "never vent"),
        ("shipment-receipt-add", "Never vent"),
    ],
)
def test_a_caution_stands_where_the_work_happens(name: str, words: str, admin: Client) -> None:
    # ASHRAE 34: R-32 is of class A2L; from memory.
    cylinder = supply_cylinder("25 lb", refrigerant="R-32")
    pk = cylinder.stock_movements.get().pk if name == "shipment-receipt-add" else cylinder.pk

    html = admin.get(reverse(name, args=[pk])).content.decode()

    notices = html.split('class="form-column"')[1].split("<fieldset")[0]
    assert words in notices
    assert "Flammable refrigerant (A2L)" in notices


def test_a_mixed_cylinder_is_cautioned_of_once_a_class(admin: Client) -> None:
    cylinder = supply_cylinder("25 lb", refrigerant="R-32")
    mark_mixed(cylinder, "R-1234yf")

    html = admin.get(reverse("shipment-add", args=[cylinder.pk])).content.decode()

    assert html.count("Flammable refrigerant (A2L)") == 1
    assert "Mixed or contaminated: R-1234yf" in html
