"""Labels: what they say, how they print, and what their QR code opens."""

import io

import pypdf
import pypdfium2
import pytest
import segno
from django.test import Client
from django.urls import reverse

from jobs.selectors.cylinder_labels import cylinder_labels, qr_code
from tests.factories import HAPPENED_ON, CylinderFactory, supply_cylinder

pytestmark = pytest.mark.django_db

SITE_URL = "https://portal.example.com/"
INCH = 72


def printed(client: Client, *cylinders: object) -> bytes:
    ids = "&".join(f"cylinder={cylinder.pk}" for cylinder in cylinders)
    response = client.get(f"{reverse('cylinder-labels')}?{ids}")
    assert response["Content-Type"] == "application/pdf"
    return response.content


def test_a_label_says_what_whoever_fills_the_cylinder_needs(technician: Client) -> None:
    cylinder = supply_cylinder("10 lb")

    (page,) = pypdf.PdfReader(io.BytesIO(printed(technician, cylinder))).pages

    text = " ".join(page.extract_text().split())
    (label,) = cylinder_labels([cylinder], site_url=SITE_URL, today=HAPPENED_ON)
    assert label.max_gross_mg == cylinder.tare_mg + label.state.limit.max_net_mg
    for words in (
        str(cylinder),
        "R-410A",
        "Water capacity",
        "47.700",
        "Tare",
        "Max gross",
        "Test due 2029-04-30",
    ):
        assert words in text
    assert "Never overfill, never vent." in text


def test_the_code_opens_the_cylinders_page_at_the_sites_own_address() -> None:
    cylinder = CylinderFactory()

    (label,) = cylinder_labels([cylinder], site_url=SITE_URL, today=HAPPENED_ON)

    assert label.address == f"https://portal.example.com{reverse('cylinder-detail', args=[cylinder.pk])}"


def test_the_printed_code_has_the_modules_of_its_address(technician: Client, settings) -> None:
    """Reads the modules back off the printed page, since no decoder is among the tests' packages."""
    settings.SITE_URL = SITE_URL
    cylinder = CylinderFactory()
    (label,) = cylinder_labels([cylinder], site_url=SITE_URL, today=HAPPENED_ON)
    expected = [
        [bool(module) for module in row] for row in segno.make(label.address, error="m", micro=False).matrix
    ]

    page = pypdfium2.PdfDocument(printed(technician, cylinder))[0]
    pixels = page.render(scale=6).to_pil().convert("L")

    assert modules(pixels, len(expected)) == expected


def modules(pixels, count: int) -> list[list[bool]]:
    """Sample each module's middle; the code stands at the right of the first label, with four modules of margin."""
    left, top, right, bottom = (int(6 * INCH * inches) for inches in (2.6, 0.5, 4.1, 2.2))
    picture = pixels.crop((left, top, right, bottom)).point(lambda shade: 255 if shade < 128 else 0)
    x0, y0, x1, y1 = picture.getbbox()
    step_x, step_y = (x1 - x0) / count, (y1 - y0) / count
    return [
        [
            picture.getpixel((int(x0 + (column + 0.5) * step_x), int(y0 + (row + 0.5) * step_y))) > 0
            for column in range(count)
        ]
        for row in range(count)
    ]


def test_ten_labels_fill_a_sheet_and_the_eleventh_begins_another(technician: Client) -> None:
    cylinders = CylinderFactory.create_batch(11)

    assert len(pypdf.PdfReader(io.BytesIO(printed(technician, *cylinders[:10]))).pages) == 1
    first, second = pypdf.PdfReader(io.BytesIO(printed(technician, *cylinders))).pages
    assert (first.extract_text().count("Max gross"), second.extract_text().count("Max gross")) == (10, 1)


def test_without_a_tick_all_that_are_listed_are_printed(technician: Client) -> None:
    one, two = CylinderFactory.create_batch(2)

    response = technician.get(f"{reverse('cylinder-labels')}?listed={one.pk}&listed={two.pk}")

    text = pypdf.PdfReader(io.BytesIO(response.content)).pages[0].extract_text()
    assert str(one) in text
    assert str(two) in text


@pytest.mark.parametrize("query", ["", "?cylinder=0", "?cylinder=x"])
def test_labels_of_nothing_are_not_found(technician: Client, query: str) -> None:
    assert technician.get(f"{reverse('cylinder-labels')}{query}").status_code == 404


def test_a_disposable_and_a_flammable_one_say_so(technician: Client) -> None:
    never = CylinderFactory(kind="disposable", refrigerant="R-410A")
    burns = CylinderFactory(refrigerant="R-32")

    text = pypdf.PdfReader(io.BytesIO(printed(technician, never, burns))).pages[0].extract_text()

    assert "never refill" in text
    assert "Flammable A2L" in text


def test_the_code_survives_a_scratch() -> None:
    # ISO/IEC 18004: level M recovers about 15 % of the code words; from memory.
    assert qr_code("https://portal.example.com/cylinders/1/").error == "M"
