"""The memory that a report of more than two thousand pages takes to print, read off a process that does nothing else.

A page in layout takes over a megabyte, so that the whole laid out at once would take gigabytes; the pieces give theirs
back. The number of rows: ``BENCHMARK_ROWS``.
"""

import os
import subprocess
import sys
import time
from pathlib import Path

from pypdfium2 import PdfDocument

ROOT = Path(__file__).resolve().parents[2]
ROWS = int(os.environ.get("BENCHMARK_ROWS", "42000"))
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
