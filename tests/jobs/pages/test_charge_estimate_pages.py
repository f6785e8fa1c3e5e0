"""The estimate of a full charge, and how it becomes the full charge of an appliance with all that it rests on."""

import json
import re

import pytest
from django.test import Client
from django.urls import reverse

from jobs.models import Appliance, ChainLink, FullChargeDetermination
from jobs.services.verification import records_verify
from tests.factories import ApplianceFactory, SiteFactory, charged, file_event, supply_cylinder
from tests.jobs.pages.test_appliance_pages import APPLIANCE, RANGE

pytestmark = pytest.mark.django_db

ESTIMATE = {
    "refrigerant": "R-410A",
    "condensing_value": "104",
    "condensing_unit": "F",
    "evaporating_value": "41",
    "evaporating_unit": "F",
    "subcooling": "9",
    "vessels-0-kind": "condenser",
    "vessels-0-volume_value": "4",
    "vessels-0-volume_unit": "L",
    "vessels-0-liquid": "25",
    "vessels-0-liquid_doubt": "",
    "lines-0-kind": "liquid",
    "lines-0-bore_value": "0.43",
    "lines-0-bore_unit": "in",
    "lines-0-length_value": "66",
    "lines-0-length_unit": "ft",
}


def asked(client: Client, **changes: object) -> str:
    html = client.get(reverse("charge-estimate"), ESTIMATE | changes).content.decode()
    return re.sub(r"\s+", " ", html.replace("\u00a0", " "))


def use_url(page: str) -> str:
    return re.search(r'href="([^"]+charge=[^"]+)"', page)[1].replace("&amp;", "&")


def form_of(client: Client, url: str) -> dict[str, str]:
    form = client.get(url).context["form"]
    charge = form["full_charge"].value()
    return {
        **APPLIANCE,
        "refrigerant": form["refrigerant"].value(),
        "full_charge_value": charge.value,
        "full_charge_unit": charge.unit,
        "full_charge_method": form["full_charge_method"].value(),
        "full_charge_note": form["full_charge_note"].value(),
        "charge_inputs": json.dumps(form["charge_inputs"].initial),
    }


# By hand, with densities worked with CoolProp 8.0.0: 4 L of a quarter liquid at 975.7 and vapour at 103.2 kg/m³ are
# 1.285 kg; 66 ft of 0.43 in bore are 1.885 L, times 1009 kg/m³ 1.90 kg. Together 3.19 kg, 7.0 lb.
def test_estimate_is_shown_with_its_bounds_and_parts(technician: Client) -> None:
    page = asked(technician)

    pounds = float(re.search(r'figure-value">([\d.]+)</span> <span class="figure-unit">lb', page)[1])
    assert pounds == pytest.approx(7.02, rel=0.01)
    assert "Condenser" in page
    assert "Liquid line" in page
    assert "Model and accuracy" in page
    # Rows left empty are no mistake.
    assert "You gave nothing" not in page


def test_empty_page_asks_and_offers_more_rows(technician: Client) -> None:
    html = technician.get(reverse("charge-estimate")).content.decode()

    assert "vessels-3-volume_value" in html
    assert "vessels-4-volume_value" not in html
    assert (
        "vessels-7-volume_value" in technician.get(reverse("charge-estimate"), {"more": 8}).content.decode()
    )


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"refrigerant": "R-438A"}, "mixing parameters of this blend are estimated"),
        ({"refrigerant": "R-9999"}, "refrigerant designation of ASHRAE 34"),
        ({"condensing_value": "170"}, "Expected a temperature from"),
        ({"condensing_value": "hot"}, "Expected a number"),
        ({"subcooling": "90"}, "50 or less"),
        ({"vessels-0-volume_value": "0"}, "Expected a volume above zero"),
        ({"vessels-0-liquid": "101"}, "100 or less"),
        ({"vessels-0-liquid": ""}, "You gave nothing"),
        ({"lines-0-bore_value": "-1"}, "Expected a length above zero"),
        ({"vessels-0-volume_value": "", "vessels-0-liquid": "", "lines-0-bore_value": "",
          "lines-0-length_value": ""}, "Expected at least one part or line"),
    ],
)  # fmt: skip
def test_what_cannot_be_estimated_is_refused_at_its_field(
    technician: Client, changes: dict[str, str], words: str
) -> None:
    page = asked(technician, **changes)

    assert words in page
    assert "Estimated full charge" not in page


def test_estimate_becomes_the_charge_of_a_new_appliance(admin: Client) -> None:
    site = SiteFactory()

    url = use_url(asked(admin, site=site.pk))
    response = admin.post(reverse("appliance-add", args=[site.pk]), form_of(admin, url))

    appliance = Appliance.objects.get()
    assert response.url == reverse("appliance-detail", args=[appliance.pk])
    determination = FullChargeDetermination.objects.get()
    assert determination.method == "calculation"
    assert determination.full_charge_mg == appliance.full_charge_mg
    assert determination.lowest_mg < determination.full_charge_mg < determination.highest_mg
    assert [part["name"] for part in determination.inputs["parts"]] == ["Condenser", "Liquid line"]
    assert determination.inputs["vessels"][0]["volume_l"] == 4
    assert "CoolProp" in determination.inputs["model"]
    shown = admin.get(response.url).content.decode()
    assert "How the full charge was determined" in shown
    assert "Parts, conditions and model" in shown


def test_estimate_becomes_the_charge_of_an_appliance_on_record(admin: Client) -> None:
    appliance = ApplianceFactory()

    url = use_url(asked(admin, appliance=appliance.pk))
    admin.post(reverse("appliance-change", args=[appliance.pk]), form_of(admin, url))

    appliance.refresh_from_db()
    assert appliance.full_charge_mg == FullChargeDetermination.objects.get().full_charge_mg
    assert appliance.full_charge_method == "calculation"


def test_charge_outside_its_estimate_is_refused(admin: Client) -> None:
    site = SiteFactory()
    form = form_of(admin, use_url(asked(admin, site=site.pk)))

    response = admin.post(reverse("appliance-add", args=[site.pk]), {**form, "full_charge_value": "60"})

    assert "within the estimate" in response.context["form"].errors["full_charge"][0]
    assert not Appliance.objects.exists()


@pytest.mark.parametrize("damaged", ["{}", "[]", "nonsense", '{"refrigerant": "R-410A"}', "12"])
def test_damaged_inputs_are_refused(damaged: str, admin: Client) -> None:
    site = SiteFactory()
    form = form_of(admin, use_url(asked(admin, site=site.pk)))

    response = admin.post(reverse("appliance-add", args=[site.pk]), {**form, "charge_inputs": damaged})

    assert response.status_code in (200, 302)
    kept = FullChargeDetermination.objects.first()
    assert kept is None or not kept.inputs


def test_damaged_address_opens_the_plain_form(admin: Client) -> None:
    response = admin.get(reverse("appliance-add", args=[SiteFactory().pk]), {"charge": '{"refrigerant": 3}'})

    assert response.status_code == 200


def test_reader_is_offered_no_use(technician: Client) -> None:
    assert "charge=" not in asked(technician, appliance=ApplianceFactory().pk)


def test_range_is_kept_with_its_ends_and_midpoint(admin: Client) -> None:
    site = SiteFactory()

    admin.post(reverse("appliance-add", args=[site.pk]), {**APPLIANCE, **RANGE})

    determination = FullChargeDetermination.objects.get()
    # 1100 and 1300 lb at 453.59237 g (NIST Handbook 44, appendix C).
    assert (determination.lowest_mg, determination.highest_mg) == (498_951_607, 589_670_081)
    assert "Sight glass" in determination.derivation


def test_saving_the_form_again_files_no_determination(admin: Client) -> None:
    site = SiteFactory()
    admin.post(reverse("appliance-add", args=[site.pk]), {**APPLIANCE, **RANGE})
    appliance = Appliance.objects.get()
    url = reverse("appliance-change", args=[appliance.pk])
    form = admin.get(url).context["form"]

    admin.post(url, {**APPLIANCE, **RANGE, "location": "Cellar"})

    assert str(form["full_charge_lowest"].value()) == "1100 lb"
    assert FullChargeDetermination.objects.count() == 1
    admin.post(url, {**APPLIANCE, **RANGE, "full_charge_note": "Weighed again."})
    newest, _ = FullChargeDetermination.objects.all()
    assert (newest.derivation, newest.lowest_mg) == ("Weighed again.", 498_951_607)


def test_wording_of_a_calculation_changes_without_losing_its_inputs(admin: Client) -> None:
    site = SiteFactory()
    form = form_of(admin, use_url(asked(admin, site=site.pk)))
    admin.post(reverse("appliance-add", args=[site.pk]), form)
    appliance = Appliance.objects.get()

    admin.post(
        reverse("appliance-change", args=[appliance.pk]),
        {**form, "charge_inputs": "", "full_charge_note": "By hand."},
    )

    newest, first = FullChargeDetermination.objects.all()
    assert newest.inputs == first.inputs != {}


def test_determinations_stand_in_the_appliances_chain(admin: Client) -> None:
    admin.post(reverse("appliance-add", args=[SiteFactory().pk]), APPLIANCE)

    determination = FullChargeDetermination.objects.get()
    link = ChainLink.objects.get(record_kind="full_charge", record_id=determination.pk)
    assert link.chain == f"appliance:{determination.appliance_id}"
    assert list(records_verify()) == []


def test_changed_charge_of_a_service_record_is_a_determination_too(admin: Client) -> None:
    from jobs.services.submission import StatementEntry  # noqa: PLC0415

    appliance = ApplianceFactory()
    file_event(
        appliance,
        transfers=(charged(supply_cylinder("25 lb"), "1 lb"),),
        statements=(
            StatementEntry("full_charge_change", {"full_charge_mg": 30_000_000, "method": "measurement"}),
        ),
    )

    page = admin.get(reverse("appliance-detail", args=[appliance.pk])).content.decode()

    assert "measurement of refrigerant added or evacuated" in page
    assert "a service record</a>" in page
