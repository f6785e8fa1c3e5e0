"""Makes the report that waits, as a worker does, and says what that took: a process of its own, whose memory is its.

``python -m tests.benchmarks.long_run RUN`` prints ``kilobytes PEAK`` at the end.
"""

import os
import resource
import sys

import django

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "portal.settings")
django.setup()

from django.utils import timezone  # noqa: E402

from compliance.models import WorkState  # noqa: E402
from compliance.services.reports.runs import report_claim, report_make  # noqa: E402


def main(pk: int) -> None:
    """Make it, and say what it took."""
    run = report_claim(now=timezone.now(), pk=pk)
    assert run is not None
    assert report_make(run=run).state == WorkState.DONE, run.failure
    # Linux counts it in kilobytes (getrusage(2)).
    sys.stdout.write(f"kilobytes {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss}\n")


if __name__ == "__main__":
    main(int(sys.argv[1]))
