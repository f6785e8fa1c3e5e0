"""The shipping paper as it is printed, and the pages that lead to it."""

import io

import pypdf
import pytest
from django.urls import reverse

from jobs.models import StockMovement
from tests.factories import supply_cylinder
from tests.jobs.cylinder_acts import reverse as reverse_movement
from tests.jobs.test_shipping_papers import ALONG, SAID
from tests.jobs.test_transfer_refusals import ship

pytestmark = pytest.mark.django_db


def printed(client, shipped, query=""):
    response = client.get(reverse("shipping-paper", args=[shipped.pk]) + query)
    assert response["Content-Type"] == "application/pdf"
    pages = pypdf.PdfReader(io.BytesIO(response.content)).pages
    return pages, " ".join(" ".join(page.extract_text() for page in pages).split())


@pytest.mark.parametrize(("query", "width"), [("", 612), ("?paper=a4", 595)])
def test_a_paper_is_printed_on_one_sheet(technician, query, width):
    shipped = ship(supply_cylinder("25 lb"), document_number="SHIP-4", **SAID, **ALONG)

    pages, text = printed(technician, shipped, query)

    assert len(pages) == 1
    assert pages[0].mediabox.width == pytest.approx(width, abs=1)
    for words in (
        "UN3163, Liquefied gas, n.o.s. (Difluoromethane, Pentafluoroethane), 2.2 *",
        "recalled from memory",
        "+1 555 010 0140",
        "1 cylinder",
        "25.000 lb",
        "I hereby certify",
        "82.156(a)(3)(iii)",
        "The shipper classifies, describes and certifies.",
    ):
        assert words in text


def test_a_reversed_shipment_says_so_on_its_paper(technician):
    shipped = ship(supply_cylinder("25 lb"), **ALONG)
    reverse_movement(shipped)

    _, text = printed(technician, shipped)

    assert "use no copy of this paper" in text


def test_no_other_movement_has_a_paper(technician):
    cylinder = supply_cylinder("25 lb")
    bought = StockMovement.objects.get(cylinder=cylinder)

    assert technician.get(reverse("shipping-paper", args=[bought.pk])).status_code == 404
    assert technician.get(reverse("shipping-paper", args=[99_999])).status_code == 404


def test_the_cylinders_page_and_the_list_lead_to_it(admin, officer):
    shipped = ship(supply_cylinder("25 lb"), document_number="SHIP-5", **ALONG)
    address = reverse("shipping-paper", args=[shipped.pk])

    assert address in admin.get(reverse("cylinder-detail", args=[shipped.cylinder_id])).content.decode()
    assert address in officer.get(reverse("stock-list")).content.decode()


def test_the_firms_own_address_is_the_settings(technician, settings):
    settings.FIRM_ADDRESS = "12 Ferry Road, Alder Cove CA 95999"

    _, text = printed(technician, ship(supply_cylinder("25 lb"), **ALONG))

    assert "12 Ferry Road" in text
