"""Which filings an obligation's paragraphs allow today, the one that settles it first."""

import datetime
from collections.abc import Mapping
from dataclasses import dataclass

from compliance.models import Obligation
from compliance.rulebook.filings.catalogue import SPECS
from compliance.rulebook.filings.check import state_objections
from compliance.rulebook.filings.specs import FilingKind, FilingSpec
from compliance.rulebook.results import ObligationKind
from compliance.selectors.filing_situation import filing_situation

# What meets an obligation where no visit does.
SETTLED_BY: Mapping[str, FilingKind] = {
    ObligationKind.RETROFIT_OR_RETIREMENT_PLAN: FilingKind.RETROFIT_OR_RETIREMENT_PLAN,
    ObligationKind.CHRONIC_LEAK_REPORT: FilingKind.CHRONIC_LEAK_REPORT_FILED,
    ObligationKind.ANNUAL_REPORT: FilingKind.ANNUAL_REPORT_FILED,
    ObligationKind.AUTOMATIC_LEAK_DETECTION: FilingKind.AUTOMATIC_LEAK_DETECTION,
    ObligationKind.LEAK_DETECTION_CALIBRATION: FilingKind.LEAK_DETECTION_CALIBRATION,
}
_OF_A_REPAIR = (
    FilingKind.EXTENSION,
    FilingKind.AGENCY_ANSWER,
    FilingKind.SHUTDOWN_REQUIRED,
    FilingKind.RETROFIT_OR_RETIREMENT_ELECTED,
    FilingKind.RETROFIT_OR_RETIREMENT_PLAN,
    FilingKind.MOTHBALLED,
    FilingKind.RETURNED_TO_SERVICE,
)
_OF_A_PLAN = (FilingKind.RETROFIT_OR_RETIREMENT_PLAN, FilingKind.MOTHBALLED, FilingKind.RETURNED_TO_SERVICE)
# What else may be filed about an obligation, in the order in which it is thought of.
ABOUT: Mapping[str, tuple[FilingKind, ...]] = {
    ObligationKind.REPAIR: _OF_A_REPAIR,
    ObligationKind.INITIAL_VERIFICATION_TEST: _OF_A_REPAIR,
    ObligationKind.FOLLOW_UP_VERIFICATION_TEST: _OF_A_REPAIR,
    ObligationKind.RETROFIT_OR_RETIREMENT_PLAN: _OF_A_PLAN,
    ObligationKind.RETROFIT_OR_RETIREMENT: (
        FilingKind.RELIEF_REQUESTED,
        FilingKind.PLAN_EXTENSION,
        FilingKind.AGENCY_ANSWER,
        FilingKind.MOTHBALLED,
        FilingKind.RETURNED_TO_SERVICE,
    ),
    ObligationKind.LEAK_INSPECTION: (FilingKind.AUTOMATIC_LEAK_DETECTION,),
    ObligationKind.LEAK_CHECK: (FilingKind.AUTOMATIC_LEAK_DETECTION,),
}


@dataclass(frozen=True)
class NextFiling:
    """A filing that may be made about an obligation today; ``settles`` says that it meets it."""

    spec: FilingSpec
    settles: bool


def next_filings(obligation: Obligation, now: datetime.datetime) -> list[NextFiling]:
    """The filings that may be made about an obligation today.

    Args:
        obligation: pending, with its appliance's site.
        now: the instant whose date at the site counts as today.
    """
    today = now.astimezone(obligation.appliance.site.zone).date()
    settling = SETTLED_BY.get(obligation.kind)
    kinds = dict.fromkeys(kind for kind in (settling, *ABOUT.get(obligation.kind, ())) if kind is not None)
    if not kinds:
        return []
    situation = filing_situation(obligation.appliance, on=today, today=today)
    return [
        NextFiling(SPECS[kind], settles=kind is settling)
        for kind in kinds
        if not state_objections(kind, situation)
    ]
