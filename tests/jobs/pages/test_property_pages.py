"""Pages that answer questions about refrigerants, against published figures where they state any."""

import io
import os
import re
import subprocess
import sys
import time
from pathlib import Path

import pypdfium2
import pytest
from django.test import Client
from django.urls import reverse
from pypdf import PdfReader

from tests.factories import SiteFactory

pytestmark = pytest.mark.django_db

ROOT = Path(__file__).resolve().parents[3]


def asked(client: Client, name: str, **query: object) -> str:
    response = client.get(reverse(name), query)
    assert response.status_code == 200
    return re.sub(r"\s+", " ", response.content.decode().replace("\u00a0", " ").replace("&nbsp;", " "))


def saturation(client: Client, refrigerant: str, value: object, unit: str, **query: object) -> str:
    return asked(client, "properties", refrigerant=refrigerant, at_value=value, at_unit=unit, **query)


@pytest.mark.parametrize("person", ["admin", "technician", "officer"])
def test_every_role_opens_the_pages(person: str, request: pytest.FixtureRequest) -> None:
    client = request.getfixturevalue(person)

    for name in ("properties", "pressure-chart", "residual", "cylinder-pressure"):
        assert "Properties" in asked(client, name)


def test_a_stranger_opens_none(stranger: Client) -> None:
    for name in ("properties", "pressure-chart", "pressure-chart-pdf", "residual", "cylinder-pressure"):
        assert stranger.get(reverse(name)).status_code == 403


def test_pressure_at_a_temperature(technician: Client) -> None:
    # Moran & Shapiro, Fundamentals of Engineering Thermodynamics, Table A-7: R-22 at 0 °C, 498.11 kPa (72.24 psia).
    page = saturation(technician, "r22", 0, "C")

    assert 'figure-value">57.5</span> <span class="figure-unit">psig' in page
    assert "498.0 kPa absolute" in page
    assert "Helmholtz" in page
    assert "Moran" in page


def test_bubble_and_dew_of_a_blend(technician: Client) -> None:
    # NIST REFPROP as quoted in a public test: R-407C at 20 °C, bubble 1038 kPa and dew 880 kPa, each to 0.1 bar.
    page = saturation(technician, "R-407C", 20, "C")

    kilopascals = [float(figure) for figure in re.findall(r"([\d.]+) kPa absolute</span>", page)]
    assert kilopascals == pytest.approx([1038, 880], abs=10)
    assert "Bubble point (liquid)" in page
    assert "Dew point (vapour)" in page


def test_temperature_at_a_pressure(technician: Client) -> None:
    # Mechanical Engineers' Handbook, 3rd ed., vol. 4, ch. 1, Table 14: R-134a at 1000 kPa, 39.41 °C (102.9 °F).
    page = saturation(technician, "R-134a", 1000, "kPa")

    assert "102.9 °F" in page
    assert "39.4 °C" in page


def test_a_gauge_at_altitude_reads_more(technician: Client) -> None:
    # U.S. Standard Atmosphere 1976: 84.31 kPa at 1524 m (5000 ft), 2.47 psi less than at sea level.
    sea_level = saturation(technician, "R-22", 70, "F")
    high_up = saturation(technician, "R-22", 70, "F", altitude_value=5000, altitude_unit="ft")

    def psig(page: str) -> float:
        return float(re.search(r'figure-value">([\d.]+)</span> <span class="figure-unit">psig', page)[1])

    assert psig(high_up) - psig(sea_level) == pytest.approx(2.47, abs=0.11)
    assert "84.3 kPa" in high_up


def test_a_site_lends_its_altitude(technician: Client) -> None:
    site = SiteFactory(altitude_m=1524)
    SiteFactory(altitude_m=None, name="Lowland")

    page = saturation(technician, "R-22", 70, "F", site=site.pk)

    assert "84.3 kPa" in page
    assert f"5000 ft, {site}" in page
    assert "Lowland" not in page


@pytest.mark.parametrize(
    ("refrigerant", "value", "unit", "expected"),
    [
        ("R-438A", 20, "C", "no published table of it is on record here"),
        ("R-744", -60, "C", "Expected a temperature from"),
        ("R-744", 30, "C", "within 3 K of the critical temperature"),
        ("R-410A", 9000, "psig", "Expected a pressure from"),
        ("R-9999", 20, "C", "Expected a refrigerant designation of ASHRAE 34"),
        ("R-22", "warm", "F", "Expected a number"),
        ("R-22", "", "F", "You gave nothing"),
        ("R-22", "1e3", "F", "Expected a number"),
        ("R-22", 70, "furlong", "Expected one of the units offered"),
        ("R-22", 70, "psig", None),
    ],
)
def test_what_cannot_be_answered_is_refused_at_its_field(
    technician: Client, refrigerant: str, value: object, unit: str, expected: str | None
) -> None:
    page = saturation(technician, refrigerant, value, unit)

    assert "Nothing is saved" not in page
    assert ("figure-value" in page) is (expected is None)
    assert expected is None or expected in page


@pytest.mark.parametrize("altitude", ["99999", "-9000", "high"])
def test_an_altitude_beyond_the_atmosphere_is_refused(technician: Client, altitude: str) -> None:
    page = saturation(technician, "R-22", 70, "F", altitude_value=altitude, altitude_unit="ft")

    assert "figure-value" not in page
    assert "Expected" in page


def test_flammable_and_high_pressure_refrigerants_are_cautioned(technician: Client) -> None:
    page = saturation(technician, "R-32", 70, "F")

    assert "Flammable refrigerant (A2L)" in page
    assert "High pressure." in page
    assert "common practice, no source" in page
    assert "never vent" in page
    assert "High pressure." not in saturation(technician, "R-134a", 70, "F")


def test_chart_of_a_blend_with_glide_has_two_columns(technician: Client) -> None:
    page = asked(technician, "pressure-chart", refrigerant="R-407C")

    assert "Bubble</th>" in page
    assert "Dew</th>" in page
    assert "inHg</em>" in page


@pytest.mark.parametrize("refrigerant", ["R-22", "R-410A", "R-507A", "R-513A"])
def test_chart_of_a_pure_or_nearly_azeotropic_one_has_one_column(
    technician: Client, refrigerant: str
) -> None:
    page = asked(technician, "pressure-chart", refrigerant=refrigerant)

    assert "psig</th>" in page
    assert "Bubble</th>" not in page
    assert page.count('<th scope="row"') == 96


def test_chart_prints_on_one_sheet(technician: Client) -> None:
    response = technician.get(
        reverse("pressure-chart-pdf"),
        {"refrigerant": "R-407C", "altitude_value": 5280, "altitude_unit": "ft"},
    )

    pages = PdfReader(io.BytesIO(response.content)).pages
    text = pages[0].extract_text()
    assert response["Content-Type"] == "application/pdf"
    assert len(pages) == 1
    assert (float(pages[0].mediabox.width), float(pages[0].mediabox.height)) == (612, 792)
    assert "R-407C: pressure and temperature" in text
    assert "5280 ft" in text
    assert {"-40", "150"} <= set(text.split())


def test_nothing_of_the_printed_chart_overlaps(technician: Client) -> None:
    response = technician.get(reverse("pressure-chart-pdf"), {"refrigerant": "R-407C"})

    page = pypdfium2.PdfDocument(response.content)[0].get_textpage()
    boxes = [page.get_rect(index) for index in range(page.count_rects())]
    for index, (left, bottom, right, top) in enumerate(boxes):
        assert right < 612 - 40
        for other_left, other_bottom, other_right, other_top in boxes[index + 1 :]:
            is_beside = other_left >= right - 1 or other_right <= left + 1
            assert is_beside or other_bottom >= top - 3 or other_top <= bottom + 3


def test_chart_that_cannot_be_drawn_says_why(technician: Client) -> None:
    response = technician.get(reverse("pressure-chart-pdf"), {"refrigerant": "R-401A"})

    assert response["Content-Type"].startswith("text/html")
    assert "no published table" in response.content.decode()


def test_known_figures_stand_in_the_chart(technician: Client) -> None:
    # From memory, the figures that technicians know by heart: R-22 at 40 °F 68.5 psig, R-410A at 40 °F 118 psig.
    assert '>40</th><td class="number">68.6</td>' in asked(technician, "pressure-chart", refrigerant="R-22")
    assert re.search(
        r'>40</th><td class="number">11[89]\.\d</td>',
        asked(technician, "pressure-chart", refrigerant="R-410A"),
    )


RESIDUAL = {
    "refrigerant": "R-22",
    "pressure_value": 15,
    "pressure_unit": "inHg_vac",
    "temperature_value": 77,
    "temperature_unit": "F",
}


def test_vapour_left_in_a_volume(technician: Client) -> None:
    # Ideal gas: 86.47 g/mol at 50.53 kPa (15 inHg below 101.325 kPa) and 25 °C: 1.763 kg/m³; R-22 is up to 2 % denser.
    page = asked(technician, "residual", **RESIDUAL, volume_value=1000, volume_unit="L")

    kilograms = float(re.search(r'figure-note">([\d.]+) kg', page)[1])
    assert 1.763 < kilograms < 1.763 * 1.02
    assert "dissolved in oil" in page


def test_vapour_left_of_a_full_charge(technician: Client) -> None:
    page = asked(
        technician, "residual", **RESIDUAL, full_charge_value=60, full_charge_unit="lb", liquid_share=30
    )

    assert "The volume was reckoned from the full charge" in page
    assert "Of the full charge" in page


def test_liquid_that_may_remain_is_refused(technician: Client) -> None:
    page = asked(
        technician,
        "residual",
        **{**RESIDUAL, "pressure_value": 140, "pressure_unit": "psig"},
        volume_value=1,
        volume_unit="ft3",
    )

    assert "may still be liquid" in page
    assert "figure-value" not in page


def test_vapour_left_asks_for_a_volume_or_a_charge(technician: Client) -> None:
    assert "You gave neither" in asked(technician, "residual", **RESIDUAL)
    assert "Expected a percentage" in asked(
        technician, "residual", **RESIDUAL, full_charge_value=6, full_charge_unit="lb", liquid_share=""
    )


CYLINDER = {
    "refrigerant": "R-134a",
    "temperature_value": 77,
    "temperature_unit": "F",
    "pressure_unit": "psig",
    "gauge_doubt": 1,
    "temperature_doubt": 2,
    "vapour_drawn": 0,
}


@pytest.mark.parametrize(
    ("pressure", "words"),
    [
        (82, "The pressure fits"),
        (88, "compare again after 24 hours"),
        (110, "non-condensable gases, or it is another refrigerant"),
        (60, "another refrigerant, or there is no liquid left"),
    ],
)
def test_a_cylinders_pressure_gets_its_verdict(technician: Client, pressure: int, words: str) -> None:
    # R-134a at 25 °C stands at 665.8 kPa, 81.9 psig (from memory).
    page = asked(technician, "cylinder-pressure", **CYLINDER, pressure_value=pressure)

    assert words in page
    assert "Never vent" in page


def test_no_verdict_on_a_blend_much_of_which_was_drawn_as_vapour(technician: Client) -> None:
    page = asked(
        technician,
        "cylinder-pressure",
        **{**CYLINDER, "refrigerant": "R-407C", "vapour_drawn": 30},
        pressure_value=120,
    )

    assert "No verdict" in page


def test_an_answer_comes_at_once(technician: Client) -> None:
    saturation(technician, "R-448A", 70, "F")

    began = time.perf_counter()
    saturation(technician, "R-448A", 71, "F")

    assert time.perf_counter() - began < 0.3


PROGRAM = """
import sys, django
django.setup()
import portal.wsgi
from django.conf import settings
settings.ALLOWED_HOSTS = ["testserver"]
from django.core.management import call_command
from django.test import Client
call_command("migrate", verbosity=0)
from portal.accounts.models import User
client = Client()
client.force_login(User.objects.create_superuser(email="a@example.org", password="x"))
for path in ("/properties/?refrigerant=R-410A&at_value=70&at_unit=F", "/properties/chart/?refrigerant=R-407C"):
    page = client.get(path)
    assert page.status_code == 200 and b"Model and accuracy" in page.content, page
print("CoolProp" in sys.modules)
"""


def test_web_process_never_loads_coolprop(tmp_path: Path) -> None:
    environment = {
        **os.environ,
        "DATA_DIR": str(tmp_path),
        "DJANGO_SETTINGS_MODULE": "tests.settings",
        "DATABASE_URL": f"sqlite:///{tmp_path / 'own.sqlite3'}",
    }

    done = subprocess.run(
        [sys.executable, "-c", PROGRAM],
        cwd=ROOT,
        env=environment,
        capture_output=True,
        text=True,
        check=False,
    )

    assert done.stdout.strip().endswith("False"), done.stderr[-2000:]
