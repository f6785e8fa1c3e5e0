"""A history that somebody only imagines, and what the law would make of it. Nothing here is stored."""

import datetime
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import Any

from compliance.rulebook.assess import assess
from compliance.rulebook.document import Document, document, document_json
from compliance.rulebook.errors import InvalidInput
from compliance.rulebook.facts import Category
from compliance.rulebook.parse import parse
from compliance.rulebook.parse_facts import read_fact
from compliance.rulebook.results import Assessment, LeakRate, Obligation, ObligationKind, Status
from compliance.selectors.board import DUE_SOON_DAYS, ON_THE_BOARD, BoardState
from compliance.selectors.fact_words import quantity_in_words
from compliance.selectors.facts import appliance_facts, rules_for
from compliance.selectors.wording import METHODS
from jobs.models import Appliance

# A page of so many rows is still quick; a circuit that was worked on each week has as many after ten years.
FACTS_MAX = 500

# What a person decides about an appliance, under the document's keys.
DECISIONS = {
    "residential_or_light_commercial": "Residential or light commercial",
    "hermetically_sealed": "Hermetically sealed",
    "enclosed": "In an enclosed building or structure",
}


class CaseRefused(Exception):
    """A history that can't be read, with everything that is wrong with it.

    Args:
        errors: each with its path in the document, such as ``facts[2].mass.value``.
    """

    def __init__(self, errors: Iterable[InvalidInput]) -> None:
        self.errors = tuple(errors)
        super().__init__(*self.errors)


@dataclass(frozen=True)
class Owed:
    """An obligation of an imagined history, where it stands on the day asked about, and the days left to its date."""

    obligation: Obligation
    stands: str
    days_left: int | None

    @property
    def is_pending(self) -> bool:
        """Whether something is to be done now or later."""
        return self.obligation.status.value in ON_THE_BOARD


@dataclass(frozen=True)
class WhatIf:
    """A history as the document that was asked, its facts by date, and the answer.

    ``pending`` is in the order of due dates, without a date last; ``settled`` newest first; ``retained`` are the rows
    that only say how long records must be kept.
    """

    case: Document
    answer: Assessment
    pending: list[Owed]
    settled: list[Owed]
    retained: list[Obligation]

    @property
    def newest_rates(self) -> list[LeakRate]:
        """Leak rates, newest first."""
        return list(self.answer.leak_rates)[::-1]

    @property
    def rates_now(self) -> list[LeakRate]:
        """The newest rate of each rule."""
        return list({rate.rule: rate for rate in self.answer.leak_rates}.values())

    @property
    def in_short(self) -> str:
        """The appliance in a few words."""
        appliance = self.case["appliance"]
        category = Category(appliance["category"]).in_words
        return f"{quantity_in_words(appliance['full_charge'])} of {appliance['refrigerant']}, {category}"

    @property
    def described(self) -> list[tuple[str, str]]:
        """The appliance in words, for paper."""
        appliance = self.case["appliance"]
        lines = [
            ("Used for", Category(appliance["category"]).in_words),
            ("Refrigerant", appliance["refrigerant"]),
            ("Full charge", quantity_in_words(appliance["full_charge"])),
            ("Leak rate method", METHODS[appliance["leak_rate_method"]]),
            ("Installed on", appliance.get("installed_on") or "not known"),
        ]
        return lines + [(words, "yes") for key, words in DECISIONS.items() if appliance.get(key)]


def what_if(case: Any) -> WhatIf:
    """What the rules make of an imagined history, exactly as the command ``assess`` answers it.

    Args:
        case: the document of ``assess``; numbers are whole numbers or decimals.

    Raises:
        CaseRefused: naming everything that is wrong with it.
    """
    check_case(case)
    request = parse(case)
    answer = assess(request.appliance, request.facts, as_of=request.as_of, rules=request.rules)
    owed = [
        _owed(row, request.as_of) for row in answer.obligations if row.kind != ObligationKind.RECORD_RETENTION
    ]
    return WhatIf(
        # Sorting keeps the order given within a day, so the answer stays the same.
        case={**case, "facts": sorted(case["facts"], key=lambda fact: str(fact["on"]))},
        answer=answer,
        pending=sorted((row for row in owed if row.is_pending), key=_due_first),
        settled=[row for row in owed if not row.is_pending][::-1],
        retained=[row for row in answer.obligations if row.kind == ObligationKind.RECORD_RETENTION],
    )


def check_case(case: Any) -> None:
    """Refuse a document that ``assess`` can't read, or that holds more facts than a page can show.

    Raises:
        CaseRefused: with the first thing wrong of the question and the appliance, and of each fact.
    """
    is_readable = isinstance(case, dict) and isinstance(case.get("facts"), list)
    errors = [_refusal(parse, {**case, "facts": []} if is_readable else case), _refusal(document_json, case)]
    facts = case["facts"] if is_readable else []
    if len(facts) > FACTS_MAX:
        errors.append(InvalidInput("facts", f"{len(facts)} facts", f"at most {FACTS_MAX} facts"))
    else:
        errors += [_refusal(read_fact, fact, f"facts[{index}]") for index, fact in enumerate(facts)]
    if any(errors):
        raise CaseRefused(filter(None, errors))


def _refusal(check: Callable[..., object], *arguments: object) -> InvalidInput | None:
    try:
        check(*arguments)
    except InvalidInput as error:
        return error
    return None


def appliance_case(appliance: Appliance, now: datetime.datetime) -> Document:
    """An appliance's register entry and its whole history as the document of ``assess``, asked about today.

    Args:
        appliance: with its site.
        now: the instant whose date at the site counts as today.
    """
    described, facts = appliance_facts(appliance)
    today = now.astimezone(appliance.site.zone).date()
    return document(described, facts, as_of=today, rules=rules_for(appliance.site))


def example_case(today: datetime.date) -> Document:
    """A history to begin with: comfort cooling with 60 lb that took 7 lb a month ago, repaired and tested since."""

    def on(days_ago: int) -> str:
        return (today - datetime.timedelta(days=days_ago)).isoformat()

    return {
        "as_of": today.isoformat(),
        "rules": ["us-federal"],
        "appliance": {
            "category": "comfort_cooling",
            "residential_or_light_commercial": False,
            "refrigerant": "R-410A",
            "full_charge": {"value": 60, "unit": "lb"},
            "installed_on": "2019-05-01",
            "leak_rate_method": "annualizing",
        },
        "facts": [
            {"on": on(30), "kind": "addition", "mass": {"value": 7, "unit": "lb"}},
            {"on": on(22), "kind": "repair"},
            {"on": on(22), "kind": "initial_verification_test", "passed": True},
        ],
    }


def _owed(row: Obligation, as_of: datetime.date) -> Owed:
    left = None if row.due_on is None else (row.due_on - as_of).days
    is_soon = row.status is Status.OPEN and left is not None and left <= DUE_SOON_DAYS
    return Owed(row, BoardState.DUE_SOON if is_soon else row.status, left)


def _due_first(row: Owed) -> datetime.date:
    return row.obligation.due_on or datetime.date.max
