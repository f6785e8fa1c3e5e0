"""The memory that a report of more than two thousand pages takes to print, read off a process that does nothing else.

A page in layout takes over a megabyte, so that the whole laid out at once would take gigabytes; the pieces give theirs
back. One is a table of many rows (``BENCHMARK_ROWS``), the other the annual leak rate report of a large firm
(``BENCHMARK_REPORTED`` appliances, forty at a site), calculated, printed and kept as a worker does: PostgreSQL only.
"""

import datetime
import os
import subprocess
import sys
import time
from pathlib import Path

import pytest
from django.db import connection
from django.utils import timezone
from pypdfium2 import PdfDocument

from compliance.models import ReportKind
from compliance.selectors.reports.parameters import ReportParameters
from compliance.services.reports.runs import report_request
from tests import people
from tests.benchmarks.fleet import assess_fleet, make_fleet

ROOT = Path(__file__).resolve().parents[2]
ROWS = int(os.environ.get("BENCHMARK_ROWS", "42000"))
REPORTED = int(os.environ.get("BENCHMARK_REPORTED", "6400"))
LEAST_PAGES = 2000
#: The goal, in megabytes: a fraction of what laying out the whole at once would take.
MOST_MB = 512


def test_a_long_report_is_printed_in_bounded_memory(tmp_path: Path) -> None:
    file = tmp_path / "long.pdf"
    command = [sys.executable, "-m", "tests.benchmarks.long_report", str(ROWS), str(file)]
    environment = {**os.environ, "DATA_DIR": str(tmp_path), "DEBUG": "true"}
    began = time.perf_counter()
    told: list[tuple[int, int]] = []
    peak_mb = 0
    with subprocess.Popen(command, cwd=ROOT, env=environment, stdout=subprocess.PIPE, text=True) as child:
        assert child.stdout is not None
        for line in child.stdout:
            word, first, *more = line.split()
            if word == "piece":
                told.append((int(first), int(more[1])))
                sys.stdout.write(f"\r{line.strip()} ")
                sys.stdout.flush()
            else:
                peak_mb = int(first) // 1024
    assert child.returncode == 0

    pages = len(PdfDocument(file))
    size_mb, seconds = file.stat().st_size / 1e6, time.perf_counter() - began
    sys.stdout.write(
        f"\n{pages:,} pages of {ROWS:,} rows, {size_mb:.1f} MB, in {seconds:.0f} s: peak memory {peak_mb} MB\n"
    )
    count = told[-1][1]
    assert told == [(number, count) for number in range(1, count + 1)]
    assert pages > LEAST_PAGES
    assert peak_mb < MOST_MB


@pytest.fixture
def now(transactional_db: None) -> datetime.datetime:
    """An instant at which a large firm was just assessed."""
    if connection.vendor != "postgresql":
        pytest.skip("makes its rows inside PostgreSQL")
    make_fleet(REPORTED, REPORTED // 20)
    instant = timezone.now()
    assess_fleet(instant)
    return instant


def test_a_large_firms_annual_report_is_made_in_bounded_memory(
    now: datetime.datetime, tmp_path: Path
) -> None:
    year = now.year
    parameters = ReportParameters(
        as_of=now.date(), known_at=now, run_by="officer", run_at=now, year=year, options={"paper": "letter"}
    )
    run = report_request(by=people.officer(), kind=ReportKind.ANNUAL_LEAK_RATE, parameters=parameters)
    server = os.environ["DATABASE_URL"].rpartition("/")[0]
    environment = {
        **os.environ,
        "DATABASE_URL": f"{server}/{connection.settings_dict['NAME']}",
        "DATA_DIR": str(tmp_path),
        "DEBUG": "true",
        "DJANGO_SETTINGS_MODULE": "portal.settings",
    }
    began = time.perf_counter()
    command = [sys.executable, "-m", "tests.benchmarks.long_run", str(run.pk)]
    said = subprocess.run(command, cwd=ROOT, env=environment, check=True, capture_output=True, text=True)
    seconds, peak_mb = time.perf_counter() - began, int(said.stdout.split()[-1]) // 1024

    (file,) = tmp_path.rglob("*.pdf")
    pages = len(PdfDocument(file))
    sys.stdout.write(
        f"\n{pages:,} pages of {REPORTED:,} appliances in {seconds:.0f} s: peak memory {peak_mb} MB\n"
    )
    assert pages > LEAST_PAGES
    assert peak_mb < MOST_MB
