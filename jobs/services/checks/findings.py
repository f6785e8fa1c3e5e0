"""Checks leaks found, repairs and verification tests: each must be of a leak that this appliance has."""

from collections import Counter

from jobs.models import Leak, Repair, Transfer, VerificationTest
from jobs.selectors.events import OF_STANDING_EVENT
from jobs.services.checks.visit_context import VisitContext

INSPECTION_RULE = "40 CFR 82.157(l)(3), 84.106(l)(5)"


def check_findings(visit: VisitContext) -> None:
    """Check all rows about leaks."""
    _check_leaks(visit)
    for position, repair in enumerate(visit.submission.repairs):
        visit.check_leak(f"repairs-{position}-leak", repair.leak)
    for position, test in enumerate(visit.submission.tests):
        visit.check_leak(f"tests-{position}-leak", test.leak)
    check_kept_leaks(visit)


def _check_leaks(visit: VisitContext) -> None:
    found = visit.submission.leaks_found
    counted = Counter(entry.reference for entry in found)
    stated = Counter(entry.leak.pk for entry in found if entry.leak)
    for position, entry in enumerate(found):
        prefix = f"leaks-{position}-"
        if counted[entry.reference] > 1:
            visit.refusals.add(
                f"{prefix}part", entry.reference, "Expected a reference of its own for each leak found."
            )
        if entry.leak and stated[entry.leak.pk] > 1:
            visit.refusals.add(f"{prefix}leak", entry.leak, "Expected each leak on record once.")
        if entry.leak and entry.leak.appliance_id != visit.appliance.pk:
            expected = f"Expected a leak of {visit.appliance}; this one is another appliance's."
            visit.refusals.add(f"{prefix}leak", entry.leak, expected)
    if found and visit.submission.inspection is None:
        expected = "A leak was found: expected the inspection that found it, with its methods."
        visit.refusals.add("inspection", None, expected, visit.us_law(INSPECTION_RULE))


def check_kept_leaks(visit: VisitContext) -> None:
    """Note if the amendment drops a leak that other standing records still speak of."""
    for leak in _dropped_leaks(visit):
        later = {
            str(row.event)
            for model in (Repair, VerificationTest, Transfer)
            for row in model.objects.filter(OF_STANDING_EVENT, leak=leak)
            .exclude(event=visit.superseded)
            .select_related("event")
        }
        if later:
            spoken_of = ", ".join(sorted(later))
            expected = (
                f"{leak} is spoken of in {spoken_of}: expected it to stay, or those to be amended first."
            )
            visit.refusals.add("leaks", leak, expected)


def _dropped_leaks(visit: VisitContext) -> list[Leak]:
    """Leaks of the former record that no other record found and that this one doesn't find again."""
    if visit.superseded is None:
        return []
    kept = {entry.leak.pk for entry in visit.submission.leaks_found if entry.leak} | visit.leaks.keys()
    findings = visit.superseded.leak_findings.select_related("leak")
    return [finding.leak for finding in findings if finding.leak_id not in kept]
