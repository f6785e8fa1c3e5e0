"""Checks a visit's own fields: its day, its work, the owner's answer, the signature."""

import re

from jobs.models import WorkKind, WorkOrigin
from jobs.services.checks.days import check_days
from jobs.services.checks.visit_context import VisitContext

# The signature is the path of an SVG drawing: its commands and numbers, nothing that a page could run.
SVG_PATH = re.compile(r"[MmZzLlHhVvCcSsQqTtAaeE0-9\s,.+-]*")
SVG_PATH_LENGTH_MAX = 200_000


def check_visit(visit: VisitContext) -> None:
    """Check all fields that belong to no row."""
    check_days(
        visit.refusals,
        appliance=visit.appliance,
        today=visit.today,
        happened_on=visit.submission.happened_on,
        owner_told_on=visit.submission.owner_told_on,
    )
    _check_work(visit)
    _check_owner(visit)
    path = visit.submission.signature_svg_path
    if len(path) > SVG_PATH_LENGTH_MAX or not SVG_PATH.fullmatch(path):
        visit.refusals.add("signature_svg_path", path[:40], "Expected the path of an SVG drawing.")


def _check_work(visit: VisitContext) -> None:
    submission = visit.submission
    for kind in submission.work_kinds:
        if kind not in WorkKind.values:
            visit.refusals.add(
                "work_kinds", kind, f"Expected kinds of work among {', '.join(WorkKind.values)}."
            )
    if submission.origin != WorkOrigin.OWN and not submission.contractor_name.strip():
        visit.refusals.add("contractor_name", "", "Expected the name of the contractor who did the work.")


def _check_owner(visit: VisitContext) -> None:
    submission = visit.submission
    told_on, told_name = submission.owner_told_on, submission.owner_told_name.strip()
    if (submission.owner_decision or told_name) and told_on is None:
        visit.refusals.add("owner_told_on", None, "Expected the day the owner or operator was told.")
    if (submission.owner_decision or told_on) and not told_name:
        visit.refusals.add("owner_told_name", "", "Expected the name of the person who was told.")
