"""Prints a report of many rows and says what that took: run as a process of its own, whose memory is then its alone.

``python -m tests.benchmarks.long_report ROWS FILE`` prints ``piece NUMBER of COUNT`` as it goes on, and at the end
``kilobytes PEAK``.
"""

import datetime
import os
import resource
import sys
from pathlib import Path

import django

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "portal.settings")
django.setup()

from compliance.models import ReportKind  # noqa: E402
from compliance.selectors.reports.document import Column, ReportDocument, Section, Table  # noqa: E402
from compliance.selectors.reports.parameters import ReportParameters  # noqa: E402
from compliance.services.reports.catalogue import report_type  # noqa: E402
from compliance.services.reports.pdf import print_content  # noqa: E402

COLUMNS = (Column("Record", width=12), Column("What was done", width=80))
#: A few lines on a sheet held upright: some twenty rows a page.
DONE = (
    "Inspected all visible and accessible parts for leaks: electronic detector, bubble solution. Leak at the braze "
    "joint of the suction line, repaired, tested and passed."
)


def long_document(rows: int) -> ReportDocument:
    """A report of one table with so many rows."""
    lines = tuple((f"SE-{number:06d}", DONE) for number in range(rows))
    return ReportDocument(
        "Long report", "The firm", (), (Section("Work", (), (Table("Work", COLUMNS, lines),)),)
    )


def main(rows: int, file: Path) -> None:
    """Print it, and say how far it is and what it took."""
    now = datetime.datetime.now(datetime.UTC)
    parameters = ReportParameters(
        as_of=now.date(),
        known_at=now,
        run_by="nobody",
        run_at=now,
        year=now.year,
        options={"paper": "letter"},
    )

    def tell(done: int, total: int) -> None:
        sys.stdout.write(f"piece {done + 1} of {total}\n")
        sys.stdout.flush()

    report = report_type(ReportKind.TECHNICIAN_ROSTER)
    file.write_bytes(print_content(report, long_document(rows), parameters, tell))
    # Linux counts it in kilobytes (getrusage(2)).
    sys.stdout.write(f"kilobytes {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss}\n")


if __name__ == "__main__":
    main(int(sys.argv[1]), Path(sys.argv[2]))
