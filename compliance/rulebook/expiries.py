"""Until when certificates, an apprentice's registration, a cylinder's test and a calibration count, and why."""

from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from compliance.rulebook import policy
from compliance.rulebook.certification import CertificationType, Scheme, apprentice_exemption_ends_on
from compliance.rulebook.dates import add_years
from compliance.rulebook.requalification import allowed_periods, requalification_due_on
from compliance.rulebook.rules import EU
from compliance.rulebook.tables import Tables, load_tables

PRINTED_EU = "Implementing Regulation (EU) 2024/2215 Art. 4(2)"
PRINTED_ELSEWHERE = "the certificate itself"
APPRENTICES = "40 CFR 82.161(a)"


class ExpiryKind(StrEnum):
    """What runs out."""

    CERTIFICATE = "certificate"
    APPRENTICESHIP = "apprenticeship"
    REQUALIFICATION = "requalification"
    CALIBRATION = "calibration"


@dataclass(frozen=True)
class LastDay:
    """The last day on which something counts.

    ``source`` is the paragraph, or what else says so; ``is_confirmed`` whether no part of the date rests on memory.
    """

    on: date
    source: str
    because: str
    is_confirmed: bool = True


@dataclass(frozen=True)
class Certificate:
    """A certificate as it bears on how long it counts; ``expires_on`` is the last day printed on it, if any."""

    type: CertificationType
    issued_on: date
    refreshed_on: date | None = None
    expires_on: date | None = None


def certificate_counts_until(
    certificate: Certificate, *, on: date, tables: Tables | None = None
) -> LastDay | None:
    """Tell until when a certificate counts without a refresher or another certificate.

    Those of section 608 don't expire, nor does the portal know of a last day of those of section 609 (from memory).

    Args:
        certificate: the certificate.
        on: the day whose law counts.
        tables: the dated numbers; those of fixtures/rules by default.

    Returns:
        None where nothing says that it runs out.

    Source: Regulation (EU) 2024/573 Art. 10(9), eu ``certificate_refresher`` and ``certificate_first_refresher``;
    Implementing Regulation (EU) 2024/2215 Art. 4(2); 40 CFR 82.161(a)(5).

    Example:
        >>> certificate_counts_until(Certificate(CertificationType.EU_A1, date(2024, 4, 2)), on=date(2026, 3, 2)).on
        datetime.date(2031, 4, 2)
    """
    scheme = certificate.type.scheme
    if scheme is Scheme.US:
        return None
    found = [_printed(certificate)] if certificate.expires_on else []
    if scheme is not Scheme.GB:
        found.append(_refresher(certificate, on, tables or load_tables()))
    if not found:
        return None
    earliest = min(found, key=lambda last: last.on)
    if len(found) == 1:
        return earliest
    because = f"{earliest.because} {policy.EARLIER_LAST_DAY.sentence}."
    return LastDay(earliest.on, earliest.source, because)


def apprenticeship_counts_until(registered_on: date, *, tables: Tables | None = None) -> LastDay:
    """Tell until when a registered apprentice may work without a certificate, under close supervision.

    Args:
        registered_on: first registration as an apprentice.
        tables: the dated numbers; those of fixtures/rules by default.

    Source: 40 CFR 82.161(a), apprentices.
    """
    on = apprentice_exemption_ends_on(registered_on, tables)
    because = (
        f"First registered as an apprentice on {registered_on}; the exemption ends on {on} at the latest."
    )
    return LastDay(on, APPRENTICES, because)


def cylinder_counts_until(
    marked_on: date, period_years: int, specification: str, *, tables: Tables | None = None
) -> LastDay:
    """Tell the last day on which a cylinder may be filled by its last test.

    Args:
        marked_on: any day of the month stamped on it.
        period_years: its period, in years.
        specification: as stamped on it.
        tables: the dated numbers; those of fixtures/rules by default.

    Source: 49 CFR 180.205(c), 180.209.
    """
    on = requalification_due_on(marked_on, period_years)
    periods = allowed_periods(specification, on=on, tables=tables)
    years = "1 year" if period_years == 1 else f"{period_years} years"
    because = (
        f"Last tested, or made, in {marked_on:%Y-%m}; its period is {years}, and the month counts to its end."
    )
    return LastDay(on, periods.citation, because, is_confirmed=periods.is_confirmed)


def calibration_counts_until(calibrated_on: date, due_on: date) -> LastDay:
    """Tell until when a calibration counts: as its certificate or the firm's own interval says, since no law does.

    Args:
        calibrated_on: the day on its certificate.
        due_on: the last day as it was recorded.
    """
    because = f"Calibrated on {calibrated_on}; recorded as counting until {due_on}."
    return LastDay(due_on, "the calibration as recorded; the law sets no interval for it", because)


def _printed(certificate: Certificate) -> LastDay:
    on = certificate.expires_on or certificate.issued_on
    source = PRINTED_ELSEWHERE if certificate.type.scheme is Scheme.GB else PRINTED_EU
    return LastDay(on, source, f"{on} is printed on it as its last day.")


def _refresher(certificate: Certificate, on: date, tables: Tables) -> LastDay:
    """By when the next refresher training or evaluation is due."""
    row = tables.row(EU, "certificate_refresher", on=on)
    since = certificate.refreshed_on
    is_former = certificate.type.scheme is Scheme.EU_FORMER
    if is_former and (since is None or since < row.effective_from):
        first = tables.row(EU, "certificate_first_refresher", on=on)
        because = (
            f"It was issued under Regulation (EU) No 517/2014: the first refresher is due by {first.value}."
        )
        return LastDay(first.day, first.citation, because, is_confirmed=first.is_confirmed)
    began_on = since or certificate.issued_on
    what = "Last refresher" if since else "Issued"
    because = (
        f"{what} on {began_on}; a refresher training or evaluation is due at least every {row.in_words}: "
        f"{policy.REFRESHER_FROM_ISSUE}."
    )
    return LastDay(add_years(began_on, row.count), row.citation, because, is_confirmed=row.is_confirmed)
