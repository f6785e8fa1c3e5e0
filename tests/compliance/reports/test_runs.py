"""Report runs: asked for on a page, made by a worker, kept with what they were made from."""

import hashlib
from collections.abc import Callable
from datetime import timedelta
from pathlib import Path

import pytest
from django.core.exceptions import ValidationError
from django.test import Client
from django.urls import reverse

from compliance.models import ReportKind, ReportRun, WorkState
from compliance.services.reports.runs import (
    CLAIM_LASTS,
    kept_document,
    report_claim,
    report_make,
    report_request,
    run_progress,
)
from compliance.services.work_orders import ATTEMPTS_MAX
from compliance.tasks import make_report, make_waiting_reports
from portal.accounts.models import User
from portal.web.views import PAGE_SIZE
from tests import people
from tests.compliance.reports.asking import document, question
from tests.demo_firm import NOW

SLUG = "annual-leak-rate"
Ask = Callable[[], ReportRun]


@pytest.fixture
def asked_by(db: None, settings, tmp_path: Path) -> User:
    settings.MEDIA_ROOT = tmp_path
    return people.officer()


@pytest.fixture
def ask(asked_by: User) -> Ask:
    return lambda: report_request(by=asked_by, kind=ReportKind.ANNUAL_LEAK_RATE, parameters=question())


def made(run: ReportRun) -> ReportRun:
    """The run once a worker has been at it."""
    claimed = report_claim(now=NOW, pk=run.pk)
    assert claimed is not None
    return report_make(run=claimed)


def test_a_run_keeps_its_figures_its_pdf_and_what_they_were_made_from(ask: Ask) -> None:
    run = made(ask())

    kept = ReportRun.objects.get(pk=run.pk)
    pdf = Path(kept.pdf.path).read_bytes()
    assert kept.state == WorkState.DONE
    assert pdf.startswith(b"%PDF-")
    assert hashlib.sha256(pdf).hexdigest() == kept.pdf_sha256
    assert kept.known_at == NOW
    assert kept.rulebook_version == question().rulebook


def test_kept_figures_read_back_as_they_were(demo_firm: None, settings, tmp_path: Path) -> None:
    settings.MEDIA_ROOT = tmp_path
    by = User.objects.get(email__startswith="officer@")
    run = made(report_request(by=by, kind=ReportKind.ANNUAL_LEAK_RATE, parameters=question()))

    now = document(SLUG, question())
    then = kept_document(run)
    assert then.tables == now.tables
    assert sum(len(table.rows) for table in then.tables) > 100


def test_only_one_worker_gets_a_run(ask: Ask) -> None:
    run = ask()

    first = report_claim(now=NOW, pk=run.pk)
    second = report_claim(now=NOW, pk=run.pk)

    assert first is not None
    assert second is None


def test_a_run_whose_worker_was_killed_is_taken_over_and_given_up_in_the_end(ask: Ask) -> None:
    run = ask()
    now = NOW
    for _ in range(ATTEMPTS_MAX):
        assert report_claim(now=now, pk=run.pk) is not None
        assert report_claim(now=now + CLAIM_LASTS / 2, pk=run.pk) is None
        now += CLAIM_LASTS + timedelta(seconds=1)

    last = report_claim(now=now)
    assert last is not None
    assert report_make(run=last).state == WorkState.FAILED
    assert "as if killed" in last.failure


def test_a_run_that_gives_signs_of_life_keeps_its_claim(ask: Ask) -> None:
    run = report_claim(now=NOW, pk=ask().pk)
    assert run is not None

    run_progress(run)(3, 10)

    row = ReportRun.objects.get(pk=run.pk)
    assert (row.done_count, row.total_count, row.done_pct) == (3, 10, 30)
    assert row.claimed_at > NOW
    assert report_claim(now=NOW + CLAIM_LASTS, pk=run.pk) is None
    assert report_claim(now=NOW + CLAIM_LASTS + timedelta(minutes=1), pk=run.pk) is not None


def test_a_run_that_waits_for_its_lost_message_is_found(ask: Ask) -> None:
    run = ask()
    ReportRun.objects.filter(pk=run.pk).update(run_at=NOW - timedelta(days=1))

    make_waiting_reports()

    run.refresh_from_db()
    assert run.state == WorkState.DONE


def test_a_task_that_comes_twice_makes_the_report_once(ask: Ask) -> None:
    run = ask()

    make_report(run.pk)
    kept = ReportRun.objects.get(pk=run.pk)
    make_report(run.pk)

    assert ReportRun.objects.get(pk=run.pk).pdf.name == kept.pdf.name
    assert ReportRun.objects.get(pk=run.pk).attempts == 1


def test_a_fault_is_kept_with_the_run_and_can_be_tried_again(
    ask: Ask, asked_by: User, client: Client
) -> None:
    run = ask()
    ReportRun.objects.filter(pk=run.pk).update(kind="unknown_kind")
    claimed = report_claim(now=NOW, pk=run.pk)
    assert claimed is not None
    assert report_make(run=claimed).state == WorkState.FAILED
    assert "unknown_kind" in claimed.failure
    ReportRun.objects.filter(pk=run.pk).update(kind=ReportKind.ANNUAL_LEAK_RATE)
    client.force_login(asked_by)

    page = client.get(reverse("report-run", args=[run.pk]))
    client.post(reverse("report-run-retry", args=[run.pk]))

    assert "unknown_kind" in page.text
    run.refresh_from_db()
    assert run.state == WorkState.WAITING
    assert run.failure == ""


def test_a_run_that_is_refused_leaves_no_file(ask: Ask, settings) -> None:
    run = ask()
    claimed = report_claim(now=NOW, pk=run.pk)
    assert claimed is not None
    claimed.attempts = -1

    with pytest.raises(ValidationError, match="attempts"):
        report_make(run=claimed)

    assert [path for path in Path(settings.MEDIA_ROOT).rglob("*") if path.is_file()] == []


class TestPages:
    def test_asking_leads_to_the_run_and_its_files(self, client: Client, asked_by: User) -> None:
        client.force_login(asked_by)

        response = client.post(reverse("report-run-add", args=[SLUG]), {"year": "2026"})
        run = ReportRun.objects.get()
        waiting = client.get(reverse("report-run", args=[run.pk]))
        made(run)
        done = client.get(reverse("report-run", args=[run.pk]))

        assert response.url == reverse("report-run", args=[run.pk])
        assert "Waiting for a worker" in waiting.text
        assert reverse("report-run-file", args=[run.pk, "pdf"]) in done.text
        for form in ("pdf", "xlsx", "csv"):
            assert client.get(reverse("report-run-file", args=[run.pk, form])).status_code == 200

    def test_files_of_a_run_under_way_are_not_there(self, client: Client, ask: Ask, asked_by: User) -> None:
        run = ask()
        client.force_login(asked_by)

        for form in ("pdf", "xlsx", "csv"):
            assert client.get(reverse("report-run-file", args=[run.pk, form])).status_code == 404

    def test_progress_asks_for_the_page_anew_when_done(
        self, client: Client, ask: Ask, asked_by: User
    ) -> None:
        run = ask()
        client.force_login(asked_by)
        address, htmx = reverse("report-run", args=[run.pk]), {"HTTP_HX_REQUEST": "true"}

        under_way = client.get(address, **htmx)
        made(run)
        done = client.get(address, **htmx)

        assert "<html" not in under_way.text
        assert "HX-Refresh" not in under_way.headers
        assert done.headers["HX-Refresh"] == "true"

    def test_every_run_can_be_reached(self, client: Client, ask: Ask, asked_by: User) -> None:
        run = ask()
        for number in range(PAGE_SIZE):
            run.pk, run.run_at = None, NOW + timedelta(minutes=number + 1)
            run.save(force_insert=True)
        first = ReportRun.objects.order_by("pk").first()
        assert first is not None
        address = f'href="{reverse("report-run", args=[first.pk])}"'
        client.force_login(asked_by)

        assert address not in client.get("/reports/").text
        assert address in client.get("/reports/", {"page": 2}).text

    def test_a_pdf_that_is_gone_says_so(self, client: Client, ask: Ask, asked_by: User) -> None:
        run = made(ask())
        Path(run.pdf.path).unlink()
        client.force_login(asked_by)

        response = client.get(reverse("report-run-file", args=[run.pk, "pdf"]))

        assert response.status_code == 404
        assert run.pdf.name in response.text
        assert run.pdf_sha256 in response.text

    def test_an_unknown_report_is_not_found(self, client: Client, asked_by: User) -> None:
        client.force_login(asked_by)

        assert client.get("/reports/no-such-report/").status_code == 404
