"""The one question of the rulebook: what the chosen rules make of one appliance's facts on one day."""

from collections.abc import Callable, Mapping, Sequence
from datetime import date

from compliance.rulebook.errors import InvalidInput
from compliance.rulebook.facts import Appliance, Fact
from compliance.rulebook.holding import AskedDay
from compliance.rulebook.jurisdictions.eu import assess_eu
from compliance.rulebook.jurisdictions.uk import assess_uk
from compliance.rulebook.jurisdictions.us_california.rules import assess_us_california
from compliance.rulebook.jurisdictions.us_federal.rules import assess_us_federal
from compliance.rulebook.notices import notices
from compliance.rulebook.results import Assessment, Headroom, Obligation, ObligationKind, RuleAssessment
from compliance.rulebook.rules import EU, RULE_NAMES, UK, US_CALIFORNIA, US_FEDERAL
from compliance.rulebook.tables import Tables, load_tables
from compliance.rulebook.timeline import Timeline, build_timeline

__all__ = ["Assessment", "assess"]

_Jurisdiction = Callable[[Timeline, Tables], list[RuleAssessment]]

_KIND_ORDER = {kind: place for place, kind in enumerate(ObligationKind)}

_JURISDICTIONS: Mapping[str, _Jurisdiction] = {
    US_FEDERAL: assess_us_federal,
    US_CALIFORNIA: assess_us_california,
    EU: assess_eu,
    UK: assess_uk,
}


def assess(
    appliance: Appliance,
    facts: Sequence[Fact],
    *,
    as_of: date,
    rules: Sequence[str],
    tables: Tables | None = None,
    looks_ahead: bool = True,
) -> Assessment:
    """Says which rules apply, the leak rate of every addition, every obligation with its history, and the headroom.

    A pure function: the same input gives the same answer. Facts may come in any order; those of one day are taken in
    the order given; those after ``as_of`` are not counted.

    Args:
        appliance: the state before the first fact.
        facts: what happened; masses in whole milligrams.
        as_of: the day asked about; an obligation due that day is still open.
        rules: names of ``rules.RULE_NAMES``.
        tables: the dated numbers of the law; those of fixtures/rules by default.
        looks_ahead: whether to reckon the headroom; who keeps the rest alone spares the time.

    Raises:
        InvalidInput: a rule that isn't known, on the field ``rules``.
    """
    for rule in rules:
        if rule not in _JURISDICTIONS:
            raise InvalidInput("rules", rule, "one of " + ", ".join(RULE_NAMES))
    tables = tables or load_tables()
    asked = AskedDay.of(as_of)
    timeline = build_timeline(appliance, facts, asked, looks_ahead=looks_ahead)
    answers = [answer for rule in dict.fromkeys(rules) for answer in _JURISDICTIONS[rule](timeline, tables)]
    return Assessment(
        as_of=as_of,
        applies=tuple(answer.verdict for answer in answers if answer.verdict.is_applicable),
        does_not_apply=tuple(answer.verdict for answer in answers if not answer.verdict.is_applicable),
        leak_rates=tuple(
            sorted(
                (rate for answer in answers for rate in answer.leak_rates),
                key=lambda rate: (rate.on, rate.position, rate.rule),
            )
        ),
        obligations=tuple(
            sorted((item for answer in answers for item in answer.obligations), key=_obligation_order)
        ),
        headroom=_smallest(timeline, answers),
        warnings=_warnings(timeline, answers),
        tables_version=tables.version,
        holds_until=asked.holds_until,
        had_effect=frozenset((answer.verdict.rule, fact) for answer in answers for fact in answer.had_effect),
    )


def _obligation_order(obligation: Obligation) -> tuple[date, str, int, date]:
    return (
        obligation.opened_on,
        obligation.rule,
        _KIND_ORDER[obligation.kind],
        obligation.due_on or date.max,
    )


def _warnings(timeline: Timeline, answers: Sequence[RuleAssessment]) -> tuple[str, ...]:
    """Each warning once; a filing without effect under one rule is none if it had an effect under another."""
    had_effect = {fact for answer in answers for fact in answer.had_effect}
    sentences = [
        *notices(timeline),
        *(sentence for answer in answers for sentence in answer.warnings),
        *(why for answer in answers for fact, why in answer.without_effect if fact not in had_effect),
    ]
    return tuple(dict.fromkeys(sentences))


def _smallest(timeline: Timeline, answers: Sequence[RuleAssessment]) -> Headroom:
    if not timeline.looks_ahead:
        return Headroom(timeline.as_of.unwatched, None, "It was not asked for.")
    rooms = [answer.headroom for answer in answers if answer.headroom is not None]
    if not rooms:
        because = (
            "The appliance is retired."
            if timeline.final_state.is_retired
            else "No rule that applies sets a threshold."
        )
        return Headroom(timeline.as_of.unwatched, None, because)
    smallest = min(rooms, key=lambda room: room.mass_mg)
    return Headroom(timeline.as_of.unwatched, smallest.mass_mg, smallest.because)
