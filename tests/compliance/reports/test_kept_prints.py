"""Kept prints: each can be reached and read again, and a print that is refused leaves no file."""

from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pytest
from django.core.exceptions import ValidationError
from django.urls import reverse

from compliance.models import ReportRun
from compliance.selectors.annual_report import annual_report
from compliance.services.reports.pdf import report_print
from portal.web.views import PAGE_SIZE
from tests import people
from tests.demo_firm import NOW


@pytest.fixture
def officer(db, settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path
    return people.officer()


def _print(officer):
    report = annual_report(year=2026, customer=None, as_of=NOW.date(), known_at=NOW)
    return report_print(by=officer, report=report, run_at=NOW)


def test_every_print_can_be_reached(client, officer):
    run = _print(officer)
    for number in range(PAGE_SIZE):
        run.pk, run.run_at = None, NOW + timedelta(minutes=number + 1)
        run.save(force_insert=True)
    first = ReportRun.objects.order_by("pk").first()
    address = f'href="{reverse("report-download", args=[first.pk])}"'
    client.force_login(officer)

    assert address not in client.get("/reports/").text
    assert address in client.get("/reports/", {"page": 2}).text


def test_a_kept_print_is_given_out_as_it_was_made(client, officer):
    run = _print(officer)
    client.force_login(officer)

    response = client.get(reverse("report-download", args=[run.pk]))

    assert b"".join(response.streaming_content) == Path(run.pdf.path).read_bytes()


def test_a_print_whose_file_is_gone_says_so(client, officer):
    run = _print(officer)
    Path(run.pdf.path).unlink()
    client.force_login(officer)

    response = client.get(reverse("report-download", args=[run.pk]))

    assert response.status_code == 404
    assert run.pdf.name in response.text
    assert run.pdf_sha256 in response.text
    assert f'href="{reverse("annual-leak-rate-report")}?year=2026&amp;customer="' in response.text


def test_a_print_that_is_refused_leaves_no_file(officer, settings):
    report = annual_report(year=2026, customer=None, as_of=NOW.date(), known_at=NOW)

    with pytest.raises(ValidationError, match="rulebook_version"):
        report_print(by=officer, report=replace(report, tables_version="x" * 81), run_at=NOW)

    assert [path for path in Path(settings.MEDIA_ROOT).rglob("*") if path.is_file()] == []
    assert not ReportRun.objects.exists()
