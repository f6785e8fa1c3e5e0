"""When a facility may change its leak rate method, and the results that are put on record with it (84.106(b)(3))."""

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date

from compliance.rulebook.assess import assess
from compliance.rulebook.facts import Appliance, Fact, FactKind, LeakRateMethod
from compliance.rulebook.filings.details import Objection
from compliance.rulebook.jurisdictions.us_federal.methods import CITATION_WITHOUT, KEY
from compliance.rulebook.results import LeakRate
from compliance.rulebook.rules import US_FEDERAL, US_FEDERAL_HFC, US_FEDERAL_ODS
from compliance.rulebook.tables import Tables, load_tables

CITATION = "40 CFR 84.106(b)(3)"
RECORD_CITATION = "40 CFR 84.106(l)(3)"


@dataclass(frozen=True)
class FacilityAppliance:
    """One appliance of a facility: its name, the state before its first fact, and its facts."""

    name: str
    described: Appliance
    facts: tuple[Fact, ...]


@dataclass(frozen=True)
class ProposedChange:
    """A change as it is to be filed.

    Attributes:
        on: the first day of the new method.
        former: the method in force without it on that day,
        method: and the new one.
        acquired_on: when the owner or operator acquired the facility.
        is_owners_method: whether they say that the new method is the one of their other facilities.
    """

    on: date
    former: LeakRateMethod
    method: LeakRateMethod
    acquired_on: date
    is_owners_method: bool


@dataclass(frozen=True)
class Facility:
    """What the conditions are held against.

    Attributes:
        rules: the rule sets of the site.
        appliances: all that stand there.
        owners_methods: the methods of the owner's other facilities on record, on that day.
        changed_on: the days of the changes that stand, in order.
    """

    rules: tuple[str, ...]
    appliances: tuple[FacilityAppliance, ...]
    owners_methods: frozenset[LeakRateMethod] = frozenset()
    changed_on: tuple[date, ...] = ()


def newest_rates(
    appliance: FacilityAppliance,
    on: date,
    rules: Sequence[str],
    *,
    among: Collection[str] = (US_FEDERAL_HFC,),
) -> Mapping[LeakRateMethod, LeakRate | None]:
    """The newest leak rate of an appliance on a day, as either method gives it throughout.

    Args:
        appliance: the appliance with its facts.
        on: additions up to and on this day count.
        rules: the rule sets of its site.
        among: the rules whose rates count; 40 CFR 84.106 unless given.

    Returns:
        ``None`` for either where none was to be calculated yet.

    Source: 40 CFR 84.106(b)(3), (l)(3): the results of both methods.
    """
    facts = [fact for fact in appliance.facts if fact.kind is not FactKind.LEAK_RATE_METHOD_CHANGE]
    found = {}
    for method in LeakRateMethod:
        described = replace(appliance.described, leak_rate_method=method)
        rates = assess(described, facts, as_of=on, rules=rules, looks_ahead=False).leak_rates
        found[method] = next((rate for rate in reversed(rates) if rate.rule in among), None)
    return found


def method_change_objections(
    change: ProposedChange, facility: Facility, *, tables: Tables | None = None
) -> list[Objection]:
    """Everything that speaks against a change of method; nothing where it may be filed.

    Args:
        change: as it is to be filed.
        facility: the site with its appliances, without this change.
        tables: the dated numbers; those of fixtures/rules by default.

    Source: 40 CFR 84.106(b)(3), (l)(3); 40 CFR 82.152, *Leak rate*, and 82.157(b), which know no change.
    """
    if US_FEDERAL not in facility.rules:
        expected = "Expected a site in the United States: no rule elsewhere asks for a leak rate."
        return [Objection("method", change.method.value, expected, CITATION)]
    row = (tables or load_tables()).find(US_FEDERAL_HFC, KEY, on=change.on)
    if row is None:
        expected = "Expected a day on which the section is in force."
        return [Objection("happened_on", change.on, expected, CITATION)]
    objections = [*_of_the_change(change, facility), *_of_the_acquisition(change, facility)]
    return objections or list(_of_the_appliances(change, facility))


def _of_the_change(change: ProposedChange, facility: Facility) -> Iterator[Objection]:
    if change.method is change.former:
        expected = f"Expected the other method: on {change.on} the facility uses this one."
        yield Objection("method", change.method.value, expected, CITATION)
    later = [on for on in facility.changed_on if on >= change.on]
    if later:
        expected = f"Expected a day after {later[-1]}, of which a change is on record."
        yield Objection("happened_on", change.on, expected, CITATION)
    if facility.owners_methods and change.method not in facility.owners_methods:
        used = " and ".join(method.in_words for method in sorted(facility.owners_methods))
        expected = f"Expected the method of the owner’s other facilities; those on record use the {used}."
        yield Objection("method", change.method.value, expected, CITATION)
    elif not change.is_owners_method:
        expected = "Expected that the owner or operator uses the new method at other facilities."
        yield Objection("is_owners_method", None, expected, CITATION)


def _of_the_acquisition(change: ProposedChange, facility: Facility) -> Iterator[Objection]:
    if change.acquired_on > change.on:
        expected = f"Expected a day by {change.on}, on which the new method was adopted."
        yield Objection("acquired_on", change.acquired_on, expected, CITATION)
    earlier = [on for on in facility.changed_on if on < change.on]
    if earlier and change.acquired_on <= earlier[-1]:
        expected = f"Expected an acquisition after {earlier[-1]}, when the method was last changed."
        yield Objection("acquired_on", change.acquired_on, expected, CITATION)


def _of_the_appliances(change: ProposedChange, facility: Facility) -> Iterator[Objection]:
    for appliance in facility.appliances:
        answer = assess(
            appliance.described, appliance.facts, as_of=change.on, rules=facility.rules, looks_ahead=False
        )
        if US_FEDERAL_ODS in {verdict.rule for verdict in answer.applies}:
            expected = (
                f"Expected a facility without appliances under 40 CFR 82.157, which knows no change of method: "
                f"{appliance.name} is one."
            )
            yield Objection("method", change.method.value, expected, CITATION_WITHOUT)
            continue
        for method, rate in newest_rates(appliance, change.on, facility.rules).items():
            if rate is not None and rate.exceeds:
                expected = (
                    f"Expected appliances that exceed their leak rate under neither method: by the "
                    f"{method.in_words} {appliance.name} was at {rate.percent_rounded} % on {rate.on}, over "
                    f"{rate.threshold_pct.normalize():f} %."
                )
                yield Objection("method", change.method.value, expected, CITATION)
