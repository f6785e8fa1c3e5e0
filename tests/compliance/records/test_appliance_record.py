"""The printed record of an appliance tells its whole story, so that each figure can be worked out anew."""

import datetime
import io
import re

import pytest
import time_machine
from django.urls import reverse
from pypdf import PdfReader

from compliance.rulebook.tables import load_tables
from compliance.rulebook.version import RULEBOOK_VERSION
from compliance.selectors.appliance_record import appliance_record
from compliance.services.case_filings import case_filing_withdraw
from compliance.services.records.printing import appliance_record_pdf
from jobs.physics.charge_documents import inputs_document
from jobs.physics.charge_estimate import ChargeInputs, Line, Vessel, estimate_charge
from jobs.services.appliances import appliance_change
from jobs.services.entries import EnteredMass
from tests import people
from tests.compliance.filings.acts import file_case
from tests.compliance.firm import add_appliance, amend, day, file, leak, noon, over_the_threshold, pounds
from tests.compliance.reports.asking import pdf_text

pytestmark = pytest.mark.django_db

PRINTED_BY, PRINTED_AT = "Rosalind Achterberg", datetime.datetime(2026, 12, 3, 15, 20, tzinfo=datetime.UTC)
LAW = f"Rulebook and tables {RULEBOOK_VERSION}; tables {load_tables().version}"


@pytest.fixture
def chiller(admin):
    """100 lb of R-410A for comfort cooling: see :func:`tests.compliance.firm.add_appliance`."""
    return add_appliance(admin)


def text(appliance, as_of, known_at=None):
    record = appliance_record(appliance, as_of=day(as_of), known_at=known_at or noon(day("2026-12-01")))
    printed = appliance_record_pdf(record, printed_by=PRINTED_BY, printed_at=PRINTED_AT)
    pages = PdfReader(io.BytesIO(printed)).pages
    return re.sub(r"\s+", " ", " ".join(page.extract_text() for page in pages))


def test_each_rate_and_clock_stands_with_its_figures_and_paragraph(admin, chiller):
    over_the_threshold(admin, chiller, "2026-03-02")
    file(admin, chiller, "2026-03-10", repaired=[leak(chiller)])

    said = text(chiller, "2026-03-20")

    # 40 CFR 84.106(b)(1), (c)(2), (d), (e)(1): 12 lb of 100 lb over 365 days; 30 days for the repair.
    assert "12.000 / 100.000 × 365 / 365 × 100 = 12.00 %" in said
    assert "over 10 %" in said
    assert "Leak repair: due by 2026-04-01; met on 2026-03-10" in said
    assert "Initial verification test: due by 2026-04-01; open" in said
    assert "Manufacturer's figure the register" in said
    assert "Keep it until 2029-03-10 or longer" in said
    assert "It informs; it gives no legal advice." in said


def test_it_says_who_printed_it_when_and_by_which_rules(chiller):
    said = text(chiller, "2026-03-20", noon(day("2026-11-30")))

    assert f"Printed by {PRINTED_BY}, 2026-12-03 09:20 CST {LAW}" in said
    assert "Clocks read as of 2026-03-20; records known at 2026-11-30" in said


def test_every_full_charge_stands_with_how_it_was_determined(admin, chiller):
    changed = {"full_charge_mg": 40_823_313, "method": "measurement"}
    event = file(admin, chiller, "2026-03-02", stated=[("full_charge_change", changed)])

    said = text(chiller, "2026-03-20")

    assert re.search(r"100\.000 lb \(45\.359 kg\) Manufacturer's figure", said)
    assert f"90.000 lb (40.823 kg) Measurement of refrigerant added or evacuated {event}" in said


# 40 CFR 82.157(l)(1) and 84.106(l)(1): the full charge, how it was determined, and of a range how that was derived.
def test_an_established_range_stands_with_its_ends_and_derivation(admin, chiller):
    ends = {"full_charge_lowest": pounds("90"), "full_charge_highest": pounds("110")}
    derived = "Sight glass just clear in winter and in summer."
    method = {"full_charge_method": "established_range", "full_charge_note": derived}
    appliance_change(by=admin, appliance=chiller, filed_at=noon(day("2026-03-02")), **method, **ends)

    said = text(chiller, "2026-03-20")

    assert "Determined on 2025-06-01: Manufacturer's figure" in said
    assert "Determined on 2026-03-02: Established range (its midpoint)" in said
    assert "Range from 90.000 lb (40.823 kg) to 110.000 lb (49.895 kg)" in said
    assert derived in said
    assert "Determined on 2026-03-02" not in text(chiller, "2026-03-01")
    assert "Determined on 2026-03-02" not in text(chiller, "2026-03-20", known_at=noon(day("2026-03-01")))


def test_a_calculation_stands_with_all_its_inputs_and_its_bounds(admin, chiller):
    receiver = Vessel("Receiver", volume_l=60, saturation_c=40, liquid_pct=75, liquid_doubt_pct=5)
    line = Line("Liquid line", bore_mm=10.92, length_m=20, saturation_c=40, is_liquid=True, subcooling_k=5)
    estimate = estimate_charge(ChargeInputs("R-410A", (receiver,), (line,)))
    appliance_change(
        by=admin,
        appliance=chiller,
        filed_at=noon(day("2026-03-02")),
        full_charge=EnteredMass.parse(f"{estimate.mass_mg / 1e6:.3f}", "kg"),
        full_charge_method="calculation",
        full_charge_note="Sizes read from the drawings.",
        charge_inputs=inputs_document(estimate.inputs),
    )

    said = text(chiller, "2026-03-20")

    assert "Determined on 2026-03-02: Calculation from components and piping" in said
    assert "60 L, 75 % (± 5) liquid" in said
    assert "20 m of 10.92 mm bore" in said
    assert "saturated at 40 °C, subcooled by 5 K" in said
    assert f"{estimate.lowest_mg / 1e6:.3f} kg" in said
    assert f"{estimate.highest_mg / 1e6:.3f} kg" in said
    assert "CoolProp" in said


def test_an_earlier_day_shows_what_stood_then(admin, chiller):
    over_the_threshold(admin, chiller, "2026-03-02")
    file(admin, chiller, "2026-03-10", repaired=[leak(chiller)])

    said = text(chiller, "2026-03-05")

    assert "Leak repair: due by 2026-04-01; open" in said
    assert "Repaired Leak 1" not in said


def test_replaced_records_are_named(admin, chiller):
    event = file(admin, chiller, "2026-03-02", added=[("12", None)])
    newer = amend(admin, event, "2026-03-02", filed_at=noon(day("2026-03-03")), added=[("8", None)])

    said = text(chiller, "2026-03-20")

    assert f"{event}, visit of 2026-03-02: replaced by {newer}, “Misread scale”" in said
    assert "8.00 %" in said
    assert "12.00 %" not in said
    assert "12.00 %" in text(chiller, "2026-03-20", known_at=noon(day("2026-03-02")))


def test_filings_stand_with_their_evidence(admin, officer, chiller):
    over_the_threshold(admin, chiller, "2026-03-02")
    filing = file_case(officer, chiller, "extension", "2026-03-20")

    said = text(chiller, "2026-04-02")

    assert f"{filing} Clement Osei More time for a repair or test" in said
    assert "Supplier: Quarry Road Supply" in said
    # 2026-03-02 + 180 days (40 CFR 84.106(f)(1)).
    assert "Leak repair: due by 2026-08-29; open" in said
    assert "Supplier" not in text(chiller, "2026-03-19")


def test_withdrawn_filings_are_named(admin, officer, chiller):
    over_the_threshold(admin, chiller, "2026-03-02")
    filing = file_case(officer, chiller, "extension", "2026-03-20")
    newer = case_filing_withdraw(
        by=officer, filing=filing, reason="Another rack", filed_at=noon(day("2026-03-21"))
    )

    said = text(chiller, "2026-04-01")

    assert f"{filing}, more time for a repair or test of 2026-03-20: withdrawn by {newer}" in said
    assert f"{newer}, more time for a repair or test of 2026-03-20: says that {filing} counts no more" in said


def test_the_page_leads_to_it(client, chiller, officer):
    client.force_login(officer)
    address = reverse("appliance-pdf", args=[chiller.pk])

    response = client.get(address, {"as_of": "2026-03-20"})

    assert f'href="{address}"' in client.get(reverse("appliance-detail", args=[chiller.pk])).text
    assert response.content.startswith(b"%PDF-")
    assert f"Printed by {officer}, 20" in pdf_text(response.content)
    assert (
        response["Content-Disposition"] == f'inline; filename="appliance-{chiller.pk}-as-of-2026-03-20.pdf"'
    )


@pytest.mark.parametrize("as_of", ["yesterday", "1850-01-01", "2999-01-01"])
def test_a_day_that_cannot_be_is_refused_in_words(client, chiller, officer, as_of):
    client.force_login(officer)

    page = client.get(reverse("appliance-pdf", args=[chiller.pk]), {"as_of": as_of}, follow=True).text

    assert "Expected a date" in page


def test_as_known_before_a_visit_was_filed_the_record_lacks_it(client, chiller, officer, admin):
    event = over_the_threshold(admin, chiller, "2026-03-02")
    client.force_login(officer)

    def said(**asked):
        pdf = client.get(
            reverse("appliance-pdf", args=[chiller.pk]), {"as_of": "2026-03-20", **asked}
        ).content
        return pdf_text(pdf)

    assert str(event) in said()
    assert str(event) not in said(known_at="2026-03-01T12:00")
    assert chiller.name in said(known_at="1990-01-01T00:00")


@pytest.mark.parametrize("known_at", ["yesterday", "2999-01-01T00:00"])
def test_an_instant_that_cannot_be_is_refused_in_words(client, chiller, officer, known_at):
    client.force_login(officer)

    page = client.get(reverse("appliance-pdf", args=[chiller.pk]), {"known_at": known_at}, follow=True).text

    assert "Expected a date and a time" in page or "Expected an instant up to" in page


def test_a_stranger_gets_none(client, chiller):
    client.force_login(people.stranger())

    assert client.get(reverse("appliance-pdf", args=[chiller.pk])).status_code == 403


def test_changes_in_the_register_are_told_as_known_then(admin, chiller):
    changed_at = noon(day("2026-05-04"))
    with time_machine.travel(changed_at, tick=False):
        appliance_change(by=admin, appliance=chiller, location="Roof, north side")

    then, later = (
        text(chiller, "2026-03-20", changed_at + datetime.timedelta(seconds=seconds)) for seconds in (-1, 1)
    )

    assert "Roof, north side" not in then
    assert "→ Roof, north side" in later
    assert "Changes in the register None was on record." in text(
        chiller, "2026-03-20", noon(day("1990-01-01"))
    )
