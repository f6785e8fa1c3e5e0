"""One filing with its evidence, the case that it rests on, what it did, and where it stands among its versions."""

import datetime
from dataclasses import dataclass
from typing import Any

from django.db.models import Q, QuerySet

from compliance.models import Obligation
from compliance.rulebook.masses import format_mass
from compliance.selectors.board import NOT_ON_THE_BOARD, standing
from compliance.selectors.filing_words import EvidenceWords, evidence_in_words
from compliance.selectors.purges import notice_still_owed
from compliance.selectors.wording import rule_in_words
from jobs.models import CaseFiling, ChainLink
from jobs.selectors.amendments import newer_record, record_line

RECORD_KIND = "case_filing"


def whole_filings() -> QuerySet[CaseFiling]:
    """Filings with all that is shown of them."""
    return CaseFiling.objects.select_related(
        "appliance__site__customer", "filed_by", "supersedes", "superseded_by__filed_by"
    ).prefetch_related("attachments__file")


@dataclass(frozen=True)
class FilingRecord:
    """A filing as it is shown.

    Attributes:
        evidence: each piece in words.
        case: what the records said on its day, as (label, words).
        citation: its paragraph, of the rules that applied.
        filed_at: the instant in the site's time zone.
        versions: the first record and its amendments, oldest first.
        newer: the record that took its place, if any.
        opened: the obligations that it opened.
        met: the obligations that it met.
        links: its place in the chain.
        still_owed: what it says is still to be done, in a sentence; nothing if it says none.
    """

    evidence: list[EvidenceWords]
    case: list[tuple[str, list[str]]]
    citation: str
    filed_at: datetime.datetime
    versions: list[CaseFiling]
    newer: CaseFiling | None
    opened: list[Obligation]
    met: list[Obligation]
    links: list[ChainLink]
    still_owed: str

    @property
    def is_standing(self) -> bool:
        """Whether it counts."""
        return self.newer is None


def filing_record(
    filing: CaseFiling, now: datetime.datetime, *, known_at: datetime.datetime | None = None
) -> FilingRecord:
    """Gather what the page of a filing shows.

    Args:
        filing: from ``whole_filings``.
        now: the instant that tells what is past due.
        known_at: versions filed later don't count; now unless given.
    """
    of_filing = Obligation.objects.filter(Q(opened_by_filing=filing) | Q(met_by_filing=filing))
    touched = standing(of_filing.exclude(kind__in=NOT_ON_THE_BOARD), now)
    rows = list(touched.order_by("opened_on", "pk"))
    return FilingRecord(
        evidence=evidence_in_words(filing),
        case=case_in_words(filing.case),
        citation=filing.spec.cited(filing.details, filing.case.get("rules", ())),
        filed_at=filing.filed_at.astimezone(filing.appliance.site.zone),
        versions=list(record_line(filing, known_at)),
        newer=newer_record(filing, known_at),
        opened=[row for row in rows if row.opened_by_filing_id == filing.pk],
        met=[row for row in rows if row.met_by_filing_id == filing.pk],
        links=list(ChainLink.objects.filter(record_kind=RECORD_KIND, record_id=filing.pk)),
        still_owed=notice_still_owed(filing),
    )


def case_in_words(case: dict[str, Any]) -> list[tuple[str, list[str]]]:
    """What the records said of a case on a filing's day, in labelled lines; nothing of a withdrawal."""
    if not case:
        return []
    exceeded = case["exceeded"]
    lines: list[tuple[str, list[str]]] = [
        ("Owner or operator", [case["owner_or_operator"]]),
        ("Facility", [f"{case['facility']}, {case['facility_address']}"]),
        ("Appliance", [_appliance(case)]),
        ("Full charge", [_full_charge(case)]),
        ("Leak rate method", [case["leak_rate_method"]]),
    ]
    if exceeded:
        rate = (
            f"{exceeded['leak_rate_pct']} % on {exceeded['on']}, over {exceeded['threshold_pct']} % "
            f"({rule_in_words(exceeded['rule'])})"
        )
        lines.append(("Leak rate exceeded", [rate]))
    found = [
        f"{row['on']}: Leak {row['number']}, {row['part']}, {row['location']}"
        for row in case["leak_locations"]
    ]
    made = [f"{row['on']}: Leak {row['number']}, {row['work_done']}" for row in case["repairs"]]
    lines += [("Leaks found", found or ["None on record"]), ("Repairs", made or ["None on record"])]
    if case["last_successful_follow_up_on"]:
        lines.append(("Last successful follow-up test", [case["last_successful_follow_up_on"]]))
    return lines


def _full_charge(case: dict[str, Any]) -> str:
    mass_mg = case["full_charge_mg"]
    both = f"{format_mass(mass_mg)} ({format_mass(mass_mg, 'kg')})"
    return f"{both} of {case['refrigerant']}; {case['full_charge_method'].lower()}"


def _appliance(case: dict[str, Any]) -> str:
    number = f", no. {case['serial_number']}" if case["serial_number"] else ""
    place = f", {case['appliance_location']}" if case["appliance_location"] else ""
    return f"{case['appliance']}{number}; {case['appliance_type'].lower()}{place}"
