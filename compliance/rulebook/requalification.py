"""When a cylinder is due for its next test, and which periods its specification allows (49 CFR 180.209)."""

import calendar
import datetime
import re
from dataclasses import dataclass

from compliance.rulebook.tables import Row, Tables, load_tables

RULE = "us-transport"

# DOT-4BA400 is specification 4BA for a service pressure of 400 psi; 4B-240ET and 39 have none behind them.
_SPECIFICATION = re.compile(r"(?:DOT|TC)?[\s-]*(4B-?240ET|4BA|4BW|4B|39)(?![A-Z0-9]*ET)", re.IGNORECASE)
_SERVICE_PRESSURE = re.compile(r"(?:DOT|TC)?[\s-]*4B[AW]?-?(\d{2,4})", re.IGNORECASE)


@dataclass(frozen=True)
class Periods:
    """The requalification periods, in years, that may be recorded for a cylinder.

    ``is_listed`` is false where the specification has no row of its own, so that only typing errors are bounded.
    """

    years: tuple[int, ...]
    citation: str
    is_listed: bool
    is_confirmed: bool

    @property
    def in_words(self) -> str:
        """The years as a person reads them: ``5, 7, 10 or 12``."""
        if not self.is_listed:
            return f"{self.years[0]} to {self.years[-1]}"
        *most, last = map(str, self.years)
        return f"{', '.join(most)} or {last}" if most else last


def requalification_due_on(marked_on: datetime.date, period_years: int) -> datetime.date:
    """Tell the last day on which a cylinder may be filled: the end of the marked month, so many years later.

    Args:
        marked_on: any day of the month stamped on the cylinder; a mark has a month and a year alone.
        period_years: its period, in years.

    Source: 49 CFR 180.205(c), 180.209, 180.213. That the month counts to its end is common practice, no source.

    Example:
        >>> requalification_due_on(datetime.date(2021, 2, 3), 7)
        datetime.date(2028, 2, 29)
    """
    year = marked_on.year + period_years
    return datetime.date(year, marked_on.month, calendar.monthrange(year, marked_on.month)[1])


def specification_code(stamped: str) -> str:
    """Tell the specification in what is stamped, such as ``4BA`` of ``DOT-4BA400``; empty if it is none of the table's.

    Source: 49 CFR 180.209(a), table 1; 178.65 for 39.

    Example:
        >>> specification_code("DOT-4BW260")
        '4BW'
    """
    match = _SPECIFICATION.match(stamped.strip())
    if match is None:
        return ""
    code = match[1].upper()
    return "4B-240ET" if code.endswith("ET") else code


def is_non_refillable(stamped: str) -> bool:
    """Say whether the specification is one that is never refilled and takes no recovered refrigerant.

    Source: 49 CFR 178.65 (specification 39), from memory.
    """
    return specification_code(stamped) == "39"


def allowed_periods(stamped: str, *, on: datetime.date, tables: Tables | None = None) -> Periods:
    """Tell which periods the table lists for a specification on a day.

    Args:
        stamped: the specification as stamped on the collar.
        on: the day on which the period is recorded.
        tables: the dated numbers; those of fixtures/rules by default.

    Source: 49 CFR 180.209(a), table 1; 85 FR 68790 (effective 2020-11-30).

    Example:
        >>> allowed_periods("DOT-4BA400", on=datetime.date(2026, 3, 2)).years
        (5, 7, 10, 12)
    """
    tables = tables or load_tables()
    row = tables.find(RULE, "requalification_periods", on=on, category=specification_code(stamped))
    if row is None:
        longest = tables.row(RULE, "requalification_period_longest", on=on)
        return Periods(
            tuple(range(1, longest.count + 1)), longest.citation, is_listed=False, is_confirmed=False
        )
    years = tuple(int(figure) for figure in re.findall(r"\d+", row.value))
    return Periods(years, row.citation, is_listed=True, is_confirmed=row.is_confirmed)


def recovery_period(*, on: datetime.date, tables: Tables | None = None) -> Row:
    """The row with the period of a recovery cylinder for which nobody has recorded a reason for a longer one.

    Source: 49 CFR 180.203 and 180.209(e), as the portal reads them (``status`` I).
    """
    return (tables or load_tables()).row(RULE, "requalification_period_recovery", on=on)


def service_pressure_psi(stamped: str) -> int | None:
    """Tell the service pressure in what is stamped, in psig, such as 400 of ``DOT-4BA400``; None if it is not there.

    Source: 49 CFR 178.35 (a specification's mark ends in the service pressure), from memory.

    Example:
        >>> service_pressure_psi("DOT-4BA400"), service_pressure_psi("4B-240ET"), service_pressure_psi("DOT-39")
        (400, 240, None)
    """
    match = _SERVICE_PRESSURE.match(stamped.strip())
    return int(match[1]) if match else None


def least_test_pressure(
    stamped: str, *, on: datetime.date, tables: Tables | None = None
) -> tuple[int, str] | None:
    """Tell the least pressure at which a cylinder is tested on a day.

    Args:
        stamped: the specification as stamped on the collar.
        on: the day of the test.
        tables: the dated numbers; those of fixtures/rules by default.

    Returns:
        (psig, citation); None for a specification without a row.

    Source: 49 CFR 180.209(a), table 1: two times the service pressure for the 4-series.

    Example:
        >>> least_test_pressure("DOT-4BA400", on=datetime.date(2026, 3, 2))
        (800, '49 CFR 180.209(a), table 1')
    """
    pressure_psi, code = service_pressure_psi(stamped), specification_code(stamped)
    row = (tables or load_tables()).find(RULE, "requalification_test_pressure", on=on, category=code)
    return None if row is None or pressure_psi is None else (int(pressure_psi * row.number), row.citation)
