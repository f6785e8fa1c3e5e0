"""The plots of the annual leak rate report: whose they are, what they show, and the same figures in every format."""

import csv
import io
import re
from datetime import date
from decimal import Decimal

import openpyxl
import pytest
from django.test import Client

from compliance.selectors.reports.annual_leak_rate import AnnualReport, ApplianceYear
from compliance.selectors.reports.rolling_rates import RollingPlot
from compliance.services.reports.spreadsheets import document_xlsx, table_csv
from jobs.models import Appliance, Customer
from portal.accounts.models import User
from portal.web.charts import draw
from tests.compliance.firm import add_appliance, day, file, noon, over_the_threshold
from tests.compliance.reports.asking import answer, document, pdf_text, printed, question

SLUG = "annual-leak-rate"
ROLLING = 5


def year_of(appliance: Appliance, as_of: str = "2026-12-31") -> ApplianceYear:
    asked = question(as_of=day(as_of), known_at=noon(day(as_of)), appliance=appliance)
    (row,) = answer(SLUG, asked).appliances
    return row


# Source: the threshold of 10 % of comfort cooling, 40 CFR 84.106(c)(2); 5 lb of 100 lb are half of it, not over half.
@pytest.mark.parametrize(("pounds", "count"), [("5", 0), ("5.01", 1)])
def test_only_over_half_the_threshold_is_plotted(
    admin: User, chiller: Appliance, pounds: str, count: int
) -> None:
    file(admin, chiller, "2026-03-02", added=[(pounds, None)])

    assert len(year_of(chiller).plots) == count


def test_two_additions_that_are_low_by_themselves_are_plotted_for_their_sum(
    admin: User, chiller: Appliance
) -> None:
    for on in ("2026-03-02", "2026-09-01"):
        file(admin, chiller, on, added=[("3", None)])

    (plot,) = year_of(chiller).plots

    assert plot.course.highest.percent_rounded == Decimal("6.00")


def test_an_appliance_without_an_event_has_none(admin: User, chiller: Appliance) -> None:
    assert year_of(chiller).plots == []


def plot_of(admin: User, appliance: Appliance) -> RollingPlot:
    over_the_threshold(admin, appliance, "2026-03-02")
    (plot,) = year_of(appliance, "2026-06-30").plots
    return plot


def test_the_drawing_has_line_threshold_additions_and_words(admin: User, chiller: Appliance) -> None:
    plot = plot_of(admin, chiller)

    svg = draw(plot.chart)

    assert "chart-line" in svg
    assert "chart-rule-limit" in svg
    assert ">10 %</text>" in svg
    assert svg.count("chart-dot-danger") == 2
    assert "Addition, over" in svg
    assert f"<title>Rolling leak rate of {chiller.name} in 2026</title>" in svg
    assert "12.00 % from 2026-03-02, 12.000 lb added" in svg
    assert plot.chart.ends == (date(2026, 1, 1).toordinal(), date(2026, 12, 31).toordinal())


def test_an_annualized_rate_far_above_the_line_is_told_in_words(admin: User, chiller: Appliance) -> None:
    file(admin, chiller, "2026-01-05", added=[("3", None)])
    file(admin, chiller, "2026-02-04", added=[("3", None)])

    (plot,) = year_of(chiller).plots

    assert plot.course.highest.percent_rounded == Decimal("6.00")
    assert max(rate.percent_rounded for rate in plot.rates) == Decimal("36.50")
    assert "36.50 % on 2026-02-04 (beyond the plot)" in plot.in_words
    assert "36" not in re.findall(r'chart-tick"[^>]*>([^<]+)', draw(plot.chart))


def test_a_chronic_year_is_said_of_its_own_year_alone(admin: User) -> None:
    rack = add_appliance(admin, "Rack", refrigerant="R-22")
    file(admin, rack, "2025-06-02", added=[("130", None)])
    asked = [question(year, as_of=day("2026-06-30"), appliance=rack) for year in (2025, 2026)]

    assert [answer(SLUG, each).figures.chronic_count for each in asked] == [1, 0]


@pytest.fixture
def asked(officer: User) -> Customer:
    return Customer.objects.get(name="Harrowgate Fresh Markets")


def test_screen_pdf_csv_and_xlsx_show_the_same_steps(asked: Customer, officer: User, client: Client) -> None:
    client.force_login(officer)
    report: AnnualReport = answer(SLUG, question(customer=asked))
    steps = [
        (row.appliance.name, step.on.isoformat(), step.percent_rounded)
        for row in report.appliances
        for course in row.courses
        for step in course.steps
    ]

    made = document(SLUG, question(customer=asked))
    lines = list(csv.DictReader(io.StringIO(table_csv(made.tables[ROLLING]).decode("utf-8-sig"))))
    sheet = openpyxl.load_workbook(io.BytesIO(document_xlsx(made)))["Rolling rates"]
    header, *rows = sheet.iter_rows(values_only=True)
    text = pdf_text(printed(SLUG, question(customer=asked)))
    page = client.get("/reports/annual-leak-rate/", {"year": "2026", "customer": asked.pk}).text

    assert len(steps) > 20
    assert [(line["Appliance"], line["From"], Decimal(line["Rolling rate (%)"])) for line in lines] == steps
    places = [header.index(name) for name in ("Appliance", "From", "Rolling rate (%)")]
    assert [
        (
            row[places[0]],
            row[places[1]].date().isoformat(),
            Decimal(str(row[places[2]])).quantize(Decimal("0.01")),
        )
        for row in rows
    ] == steps
    plots = [plot for row in report.appliances for plot in row.plots]
    on_page = re.sub(r"<[^>]+>", "", page)
    for plot in plots:
        assert plot.in_words in text
        assert plot.in_words in on_page
        assert f"Rolling leak rate of {plot.name} in 2026" in on_page
    assert page.count('class="chart"') == 2 * len(plots)
