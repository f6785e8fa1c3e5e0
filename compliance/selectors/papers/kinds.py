"""Which filings have a paper: their headings, what they are owed for, where they go, what is signed."""

from collections.abc import Mapping
from dataclasses import dataclass

from compliance.rulebook.facts import FEDERAL_EXTENSION_BASES
from compliance.rulebook.filings.specs import FilingKind
from compliance.rulebook.results import ObligationKind
from compliance.rulebook.rules import US_FEDERAL_HFC, US_FEDERAL_ODS
from jobs.models import CaseFiling

# Source: 40 CFR 82.157(m) and 84.106(m) (where reports and requests go), (h)(2) (plans stay at the site).
SENT_TO: Mapping[str, str] = {
    US_FEDERAL_ODS: "By e-mail to 608reports@epa.gov (40 CFR 82.157(m)).",
    US_FEDERAL_HFC: "Through the agency’s electronic reporting system (40 CFR 84.106(m)).",
}
KEPT = "Not sent: signed and dated, it stays at the site of the appliance."
# The paragraphs ask for a signature, not for these words.
STATEMENT = (
    "I sign this for the owner or operator. To the best of my knowledge, what it says is true, accurate and "
    "complete."
)
PROMISE = "The owner or operator agrees to repair all identified leaks within the time named above."


@dataclass(frozen=True)
class PaperKind:
    """One kind of paper.

    ``slug`` is its name in addresses and, as a report, on the command line; ``summary`` says what it is for.
    ``owed_for`` are the obligations in the course of which it is made; ``is_due_with_them`` says whether their date is
    its own, ``is_sent`` whether it goes to the agency, ``is_of_a_year`` whether it is about one calendar year, and
    ``shows_notification`` whether the paragraph asks for the date of notification; ``grounds`` are those of a filing
    that it prints, any if empty.
    """

    kind: FilingKind
    slug: str
    title: str
    summary: str
    owed_for: tuple[ObligationKind, ...]
    is_due_with_them: bool = True
    is_sent: bool = True
    is_of_a_year: bool = False
    shows_notification: bool = False
    statement: str = STATEMENT
    grounds: tuple[str, ...] = ()

    def prints(self, filing: CaseFiling) -> bool:
        """Whether a filing of the kind is printed as this paper."""
        return not self.grounds or filing.details.get("basis") in self.grounds


REPAIR_KINDS = (
    ObligationKind.REPAIR,
    ObligationKind.INITIAL_VERIFICATION_TEST,
    ObligationKind.FOLLOW_UP_VERIFICATION_TEST,
)
PAPER_KINDS: Mapping[FilingKind, PaperKind] = {
    paper.kind: paper
    for paper in (
        PaperKind(
            FilingKind.CHRONIC_LEAK_REPORT_FILED,
            "chronic-leak-report",
            "Chronic leak report",
            "For each appliance that leaked 125 % of its full charge or more in a calendar year, to sign and send.",
            (ObligationKind.CHRONIC_LEAK_REPORT,),
            is_of_a_year=True,
        ),
        PaperKind(
            FilingKind.RETROFIT_OR_RETIREMENT_PLAN,
            "retrofit-or-retirement-plan",
            "Retrofit or retirement plan",
            "For each appliance that owes one: what the records know of it, and lines for what only its owner knows.",
            (ObligationKind.RETROFIT_OR_RETIREMENT_PLAN,),
            is_sent=False,
        ),
        PaperKind(
            FilingKind.EXTENSION,
            "extension-request",
            "Request for more time to repair or test",
            "For each appliance with a repair or test under way: the request to the agency, filled from the records.",
            REPAIR_KINDS,
            grounds=FEDERAL_EXTENSION_BASES,
        ),
        PaperKind(
            FilingKind.RELIEF_REQUESTED,
            "relief-request",
            "Request for relief from a retrofit or retirement plan",
            "For each appliance with a plan to carry out: the request for relief from it, with the promise to repair.",
            (ObligationKind.RETROFIT_OR_RETIREMENT,),
            is_due_with_them=False,
            statement=f"{PROMISE} {STATEMENT}",
        ),
        PaperKind(
            FilingKind.PLAN_EXTENSION,
            "plan-extension-request",
            "Request for more time to retrofit or retire",
            "For each appliance with a plan to carry out: the request for more time, in the fields that are asked.",
            (ObligationKind.RETROFIT_OR_RETIREMENT,),
            is_due_with_them=False,
            shows_notification=True,
        ),
    )
}
