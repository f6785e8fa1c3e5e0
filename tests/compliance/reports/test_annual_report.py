"""The annual leak rate report in all its forms: the same figures everywhere, tied to the ledger."""

import csv
import io
from collections import defaultdict
from datetime import datetime, timedelta

import openpyxl
import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.utils import timezone
from pypdf import PdfReader

from compliance.selectors.reports.annual_leak_rate import AnnualReport
from compliance.services.reports.spreadsheets import document_xlsx, table_csv
from jobs.models import Appliance, Customer
from portal.accounts.models import User
from tests.compliance.reports.asking import (
    answer,
    assert_same_as_calculated,
    assess_all,
    document,
    pdf_text,
    printed,
    question,
)
from tests.demo_firm import NOW
from tests.people import stranger, technician_user

SLUG = "annual-leak-rate"
APPLIANCES, ADDITIONS = 2, 3


def report_of(year: int = 2026, customer: Customer | None = None, known_at: datetime = NOW) -> AnnualReport:
    report: AnnualReport = answer(SLUG, question(year, customer, known_at))
    return report


def test_pdf_is_tagged_numbered_and_says_what_it_rests_on(officer: User) -> None:
    customer = Customer.objects.get(name="Harrowgate Fresh Markets")
    parameters = question(customer=customer)

    content = printed(SLUG, parameters)

    pages = PdfReader(io.BytesIO(content)).pages
    text = pdf_text(content)
    assert 2 <= len(pages) <= 12
    assert f"Page 1 of {len(pages)}" in text
    assert f"Page {len(pages)} of {len(pages)}" in text
    assert b"pdfuaid" in content or "pdfuaid" in str(
        PdfReader(io.BytesIO(content)).xmp_metadata.rdf_root.toxml()
    )
    assert parameters.rulebook in text
    assert "no legal advice" in text
    assert "Annual leak rate report 2026" in text
    assert "Tollivane" not in text


def test_pdf_embeds_the_portals_own_fonts_only(officer: User) -> None:
    content = printed(SLUG, question(2024))

    names = set()
    for page in PdfReader(io.BytesIO(content)).pages:
        fonts = page["/Resources"].get("/Font", {})
        names.update(str(font.get_object()["/BaseFont"]) for font in fonts.values())
    assert names
    assert all("Atkinson" in name for name in names), names


def test_a_report_as_known_then_does_not_change_when_more_is_filed(officer: User) -> None:
    before_the_last_visits = NOW - timedelta(days=60)

    then = report_of(known_at=before_the_last_visits)
    now = report_of()

    assert then.figures.rate_count < now.figures.rate_count
    assert {rate.on for row in then.appliances for rate in row.rates} < {
        rate.on for row in now.appliances for rate in row.rates
    }


def test_an_addition_before_the_rule_held_says_so(officer: User) -> None:
    """40 CFR 84.106 asks for leak rates from 1 January 2026 (84.106(a)); 82.157 never did of a hydrofluorocarbon."""
    (row,) = [row for row in report_of(2025).appliances if row.appliance.name == "Screw chiller"]

    assert row.rates == ()
    assert row.why_no_rate == (
        "7.700 lb (3.493 kg) was added in 2025, and no rule asked for a leak rate then. "
        "40 CFR 82.157(a): R-134a holds no class I or class II ozone-depleting substance. "
        "40 CFR 84.106(a): The rule is in force from 2026-01-01."
    )


def test_a_charge_at_installation_is_said_to_replace_no_leak(officer: User) -> None:
    sentences = {row.appliance.name: row.why_no_rate for row in report_of(2025).appliances}

    assert sentences["Practice sheet plant"] == (
        "No leak rate was calculated in 2025: 410.000 lb (185.973 kg) was added, none of it in place of what leaked "
        "(installation, retrofit, change of season)."
    )


@pytest.mark.parametrize("year", [2019, 2023])
def test_a_year_without_records_is_a_proper_report(officer: User, year: int) -> None:
    text = pdf_text(printed(SLUG, question(year)))

    assert f"Annual leak rate report {year}" in text
    assert document_xlsx(document(SLUG, question(year)))


def test_text_that_begins_like_a_formula_stays_text(officer: User) -> None:
    customer = Customer.objects.get(name="Harrowgate Fresh Markets")
    customer.name = '=HYPERLINK("http://x.invalid")'
    customer.save()

    tables = document(SLUG, question(customer=customer, known_at=timezone.now()))

    lines = list(csv.reader(io.StringIO(table_csv(tables.tables[ADDITIONS]).decode("utf-8-sig"))))
    sheet = openpyxl.load_workbook(io.BytesIO(document_xlsx(tables)))["Appliances"]
    assert all(line[0].startswith("'=") for line in lines[1:])
    assert sheet["A2"].data_type == "s"


def test_appliance_sheet_lists_every_appliance_once(officer: User) -> None:
    tables = document(SLUG, question())

    sheet = openpyxl.load_workbook(io.BytesIO(document_xlsx(tables)))["Appliances"]

    rows = list(sheet.iter_rows(values_only=True))
    assert rows[0] == tables.tables[APPLIANCES].header
    counts: dict[tuple, int] = defaultdict(int)
    for row in rows[1:]:
        counts[row[:3]] += 1
    assert set(counts.values()) == {1}
    assert len(counts) == len(report_of().appliances) > 60


@pytest.mark.parametrize("days", [0, 60, 400])
def test_the_demo_firms_stored_answers_are_what_its_records_give(officer: User, days: int) -> None:
    # A change of a register counts as such for a minute.
    now = NOW + timedelta(minutes=5)
    assess_all(now)
    then = now - timedelta(days=days)

    report: AnnualReport = answer(SLUG, question(then.year, known_at=then, as_of=then.date()))

    assert_same_as_calculated(report)
    assert (report.figures.calculated_count == 0) is (days == 0)


def test_the_sums_are_those_of_the_rows(officer: User) -> None:
    report: AnnualReport = answer(SLUG, question())
    figures, rows = report.figures, report.appliances

    assert figures.rate_count == sum(len(row.rates) for row in rows)
    assert len(figures.over) == len([row for row in rows if any(rate.exceeds for rate in row.rates)]) > 0
    assert figures.covered_count == sum(bool(row.assessment.applies) for row in rows)
    assert sum(clock.number for clock in figures.clocks) == sum(len(row.obligations) for row in rows) > 0


def test_stored_figures_take_a_fixed_number_of_queries(officer: User) -> None:
    assess_all(NOW + timedelta(minutes=5))
    one = Appliance.objects.earliest("pk")

    with CaptureQueriesContext(connection) as few:
        answer(SLUG, question(appliance=one, known_at=NOW + timedelta(minutes=5)))
    with CaptureQueriesContext(connection) as many:
        answer(SLUG, question(known_at=NOW + timedelta(minutes=5)))

    assert len(many) == len(few)


class TestPages:
    def test_officer_sees_the_report(self, officer: User, client: Client) -> None:
        client.force_login(officer)

        page = client.get("/reports/annual-leak-rate/", {"year": "2026"})

        assert page.status_code == 200
        assert "Rack B, low temperature" in page.text

    def test_unknown_year_is_named_at_the_field(self, officer: User, client: Client) -> None:
        client.force_login(officer)

        page = client.get("/reports/annual-leak-rate/", {"year": "1066"})

        assert page.status_code == 200
        assert "1066" in page.text
        assert "Year" in page.text

    @pytest.mark.parametrize("make", [technician_user, stranger])
    def test_others_may_not(self, officer: User, client: Client, make) -> None:
        client.force_login(make())

        assert client.get("/reports/annual-leak-rate/").status_code == 403
        assert client.get("/reports/").status_code == 403
