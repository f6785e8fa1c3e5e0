"""A filing as the fact that the rules read, where they read one."""

from datetime import date

from compliance.rulebook.facts import CALIFORNIA_EXTENSION_BASES, Fact, FactKind
from compliance.rulebook.filings.details import Details
from compliance.rulebook.filings.specs import FilingKind

# The rules read what was put in and taken out; the statement beside it is evidence alone, or says of an addition how
# much of it counts. An alarm starts no clock: an addition does.
WITHOUT_FACT = (
    FilingKind.SEASONAL_VARIANCE,
    FilingKind.PURGED_AND_DESTROYED,
    FilingKind.LEAK_DETECTION_ALARM,
)


def filing_fact(kind: FilingKind, on: date, details: Details, event: str | None = None) -> Fact | None:
    """The fact that a filing is to the rules, or ``None`` where it is evidence alone.

    Args:
        kind: what was filed.
        on: its day at the site.
        details: its evidence, checked.
        event: the filing's reference.
    """
    if kind in WITHOUT_FACT:
        return None
    fact_kind = FactKind(kind.value)
    if kind is FilingKind.EXTENSION:
        basis = details.text("basis")
        is_for_parts = basis == "parts"
        has_estimate = not is_for_parts and basis not in CALIFORNIA_EXTENSION_BASES
        return Fact(
            on=on,
            kind=fact_kind,
            event=event,
            obligation=details.text("obligation"),
            basis=basis,
            delivered_on=details.day("delivered_on") if is_for_parts else None,
            until=details.day("completion_estimate") if has_estimate else None,
        )
    return Fact(
        on=on,
        kind=fact_kind,
        event=event,
        basis=details.text("basis") or None,
        until=details.day("until"),
        granted=details.text("answer") == "granted" if kind is FilingKind.AGENCY_ANSWER else None,
        detection_type=details.text("detection_type") or None,
        year=details.year("year"),
    )
