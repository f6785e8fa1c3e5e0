"""What an assessment answers: frozen rows for rules, leak rates, obligations and headroom."""

from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from enum import StrEnum
from fractions import Fraction

from compliance.rulebook.facts import Fact, LeakRateMethod
from compliance.rulebook.grounds import Ground


class ObligationKind(StrEnum):
    """Everything the rules can ask of an owner or operator."""

    REPAIR = "repair"
    INITIAL_VERIFICATION_TEST = "initial_verification_test"
    FOLLOW_UP_VERIFICATION_TEST = "follow_up_verification_test"
    LEAK_INSPECTION = "leak_inspection"
    LEAK_CHECK = "leak_check"
    RETROFIT_OR_RETIREMENT_PLAN = "retrofit_or_retirement_plan"
    RETROFIT_OR_RETIREMENT = "retrofit_or_retirement"
    CHRONIC_LEAK_REPORT = "chronic_leak_report"
    ANNUAL_REPORT = "annual_report"
    AUTOMATIC_LEAK_DETECTION = "automatic_leak_detection"
    LEAK_DETECTION_CALIBRATION = "leak_detection_calibration"
    RECORD_RETENTION = "record_retention"


class Status(StrEnum):
    """Where an obligation stands on the day asked about."""

    OPEN = "open"
    OVERDUE = "overdue"
    MET = "met"
    MET_LATE = "met_late"
    FAILED = "failed"
    SUSPENDED = "suspended"
    CANCELLED = "cancelled"


@dataclass(frozen=True)
class RuleVerdict:
    """Whether one rule applies to the appliance, with the paragraph and the reason.

    ``rests_on`` holds the rows that brought the appliance within the rule.
    """

    rule: str
    is_applicable: bool
    citation: str
    because: str
    rests_on: tuple[Ground, ...] = ()


@dataclass(frozen=True)
class LeakRate:
    """The leak rate of one addition under one rule, as calculated on its own date.

    ``added_mg`` is the whole mass that counts in it (the sum so far of the additions for the same leak, or of the
    rolling window); ``days`` the interval or the window's length; ``percent`` is exact. ``position`` is the
    place of the addition in the facts, sorted by day; ``rests_on`` holds the rows that it was calculated by.
    """

    on: date
    rule: str
    method: LeakRateMethod
    added_mg: int
    days: int
    percent: Fraction
    percent_rounded: Decimal
    threshold_pct: Decimal
    exceeds: bool
    because: str
    event: str | None
    leak: str | None
    position: int
    net_mg: int
    full_charge_mg: int
    rests_on: tuple[Ground, ...] = ()


@dataclass(frozen=True)
class Obligation:
    """One thing owed under one rule, open or done. ``due_on`` is ``None`` where no date is running.

    ``is_confirmed`` is false where any row that it rests on is from memory: of the scope, of what it was calculated by
    or of its date; ``because`` then names them.
    """

    rule: str
    kind: ObligationKind
    opened_on: date
    due_on: date | None
    status: Status
    met_on: date | None
    citation: str
    because: str
    is_confirmed: bool
    opened_by_event: str | None = None
    met_by_event: str | None = None


@dataclass(frozen=True)
class Headroom:
    """The largest addition on a day that stays at or under every threshold; ``mass_mg`` is ``None`` without one."""

    on: date
    mass_mg: int | None
    because: str


@dataclass(frozen=True)
class Assessment:
    """What the rules make of one appliance's facts on one day.

    ``holds_until`` is a day up to which, from ``as_of`` on, all but the headroom stays the same for the same facts;
    ``had_effect`` holds the filings that concerned something open, each with the rule under which it was.
    """

    as_of: date
    applies: tuple[RuleVerdict, ...]
    does_not_apply: tuple[RuleVerdict, ...]
    leak_rates: tuple[LeakRate, ...]
    obligations: tuple[Obligation, ...]
    headroom: Headroom
    warnings: tuple[str, ...]
    tables_version: str
    holds_until: date
    had_effect: frozenset[tuple[str, Fact]] = frozenset()


@dataclass(frozen=True)
class RuleHeadroom:
    """What one rule leaves room for on a day: its exact threshold mass less what counts, and how it was reckoned."""

    mass_mg: int
    because: str


@dataclass(frozen=True)
class RuleAssessment:
    """What one rule makes of one appliance: the parts of an assessment.

    ``had_effect`` holds the filings (extensions, plans, requests, answers) that concerned something open under the
    rule; ``without_effect`` those that did not, each with the warning it deserves if it had an effect under no rule.
    """

    verdict: RuleVerdict
    leak_rates: tuple[LeakRate, ...] = ()
    obligations: tuple[Obligation, ...] = ()
    headroom: RuleHeadroom | None = None
    warnings: tuple[str, ...] = ()
    had_effect: frozenset[Fact] = frozenset()
    without_effect: tuple[tuple[Fact, str], ...] = ()
