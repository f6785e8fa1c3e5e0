"""Filed records to the rulebook's facts, and the rulebook's answer for one appliance.

Pure mapping: nothing here judges. Records filed, amended or voided after ``known_at`` don't count.
"""

import datetime
from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from itertools import chain

from django.db.models import F

from compliance.rulebook import facts as rulebook
from compliance.rulebook.assess import Assessment, assess
from compliance.rulebook.facts import Category, Fact, FactKind
from compliance.rulebook.filings.purge_conditions import is_counted_addition
from compliance.rulebook.refrigerants import find
from compliance.rulebook.rules import EU, UK, US_CALIFORNIA, US_FEDERAL
from compliance.selectors.filed_facts import filed_facts
from compliance.selectors.purges import Purge, purged_by_line, purges
from compliance.selectors.visits import StatementRow, TestRow, Visit, visits_by_appliance
from jobs.models import (
    Appliance,
    CaseFiling,
    Customer,
    Jurisdiction,
    LeakRateMethodChange,
    ServiceEvent,
    Site,
    StatementKind,
    VerificationKind,
)
from jobs.selectors.among import AmongIds
from jobs.selectors.case_filings import filings_standing
from jobs.selectors.events import LEGAL_ORDER, events_standing
from jobs.selectors.history import as_known
from jobs.selectors.method_changes import method_changes_standing

# Which rule sets hold where a site stands.
RULE_SETS: dict[str, tuple[str, ...]] = {
    Jurisdiction.US_FEDERAL: (US_FEDERAL,),
    Jurisdiction.US_CALIFORNIA: (US_FEDERAL, US_CALIFORNIA),
    Jurisdiction.EU: (EU,),
    Jurisdiction.UK: (UK,),
}

_DATES = ("delivered_on", "until")
_FACT_FIELDS = frozenset(
    {"full_charge_mg", "method", "obligation", "basis", "detection_type", "year", "granted", *_DATES}
)


def rules_for(site: Site) -> tuple[str, ...]:
    """The rule sets that hold at a site."""
    return RULE_SETS[site.jurisdiction]


def assess_appliance(
    appliance: Appliance, *, as_of: datetime.date, known_at: datetime.datetime | None = None
) -> Assessment:
    """What the rules that hold at the appliance's site make of its records.

    Args:
        appliance: the one asked about.
        as_of: the day at the site on which clocks are read.
        known_at: only what was on record at this instant counts; everything unless given.
    """
    appliance = as_registered(appliance, known_at)
    described, facts = appliance_facts(appliance, known_at)
    return assess(described, facts, as_of=as_of, rules=rules_for(appliance.site))


def appliance_facts(
    appliance: Appliance,
    known_at: datetime.datetime | None = None,
    *,
    without: ServiceEvent | CaseFiling | None = None,
) -> tuple[rulebook.Appliance, list[Fact]]:
    """The appliance before its first fact, and its facts in the order that the law counts them.

    What was filed about a case comes after the visits of its day.

    Args:
        appliance: the one asked about, as registered.
        known_at: only records filed at or before this instant count; all unless given.
        without: an event or a filing that is being amended, and so doesn't count.
    """
    records = records_of([appliance.pk], known_at, without=without)[appliance.pk]
    return describe(appliance), records.facts()


@dataclass(frozen=True)
class Records:
    """What is on record of one appliance: visits, what was filed about its cases, and changes of its site's method."""

    visits: list[Visit] = field(default_factory=list)
    filings: list[CaseFiling] = field(default_factory=list)
    method_changes: list[LeakRateMethodChange] = field(default_factory=list)
    purges: list[Purge] = field(default_factory=list)

    def facts(self) -> list[Fact]:
        """The facts in the order that the law counts them.

        Within a day a change of the leak rate method comes first, since it holds from the day on, and filings last.
        """
        visited = facts_of(self.visits, purged_by_line(self.purges))
        return in_order(method_facts(self.method_changes), visited, filed_facts(self.filings))


def records_of(
    appliance_ids: Collection[int],
    known_at: datetime.datetime | None = None,
    *,
    without: ServiceEvent | CaseFiling | None = None,
) -> dict[int, Records]:
    """The records of appliances, in a fixed number of queries.

    Args:
        appliance_ids: of these appliances; each has an entry.
        known_at: only records filed at or before this instant count; all unless given.
        without: an event or a filing that is being amended, and so doesn't count.
    """
    events, filings = events_standing(known_at), filings_standing(known_at)
    if isinstance(without, ServiceEvent):
        events = events.exclude(pk=without.pk)
    elif without is not None:
        filings = filings.exclude(pk=without.pk)
    visits = visits_by_appliance(events, appliance_ids)
    records = {pk: Records(visits.get(pk, [])) for pk in appliance_ids}
    for filing in filings.filter(AmongIds("appliance", appliance_ids)).order_by(*LEGAL_ORDER):
        records[filing.appliance_id].filings.append(filing)
    for purge in purges(chain.from_iterable(one.filings for one in records.values())):
        records[purge.filing.appliance_id].purges.append(purge)
    changes = method_changes_standing(known_at).filter(AmongIds("site__appliances", appliance_ids))
    for change in changes.annotate(appliance_id=F("site__appliances")):
        if change.appliance_id in records:
            records[change.appliance_id].method_changes.append(change)
    return records


def in_order(*groups: list[Fact]) -> list[Fact]:
    """Facts by day; within a day those of the first group come first."""
    return sorted(chain.from_iterable(groups), key=lambda fact: fact.on)


def method_facts(changes: Iterable[LeakRateMethodChange]) -> list[Fact]:
    """The facts of changes of a facility's leak rate method."""
    return [
        Fact(
            on=row.happened_on,
            kind=FactKind.LEAK_RATE_METHOD_CHANGE,
            event=row.reference,
            method=row.method,
        )
        for row in changes
    ]


def describe(appliance: Appliance) -> rulebook.Appliance:
    """The appliance as the rulebook sees it: what the register says."""
    return rulebook.Appliance(
        category=Category(appliance.category),
        refrigerant=find(appliance.refrigerant),
        full_charge_mg=appliance.full_charge_mg,
        leak_rate_method=rulebook.LeakRateMethod(appliance.site.leak_rate_method),
        installed_on=appliance.installed_on,
        is_residential_or_light_commercial=appliance.is_residential_or_light_commercial,
        is_hermetically_sealed=appliance.is_hermetically_sealed,
        is_enclosed=appliance.is_enclosed,
    )


def as_registered(appliance: Appliance, known_at: datetime.datetime | None) -> Appliance:
    """The appliance, its site and customer as registered at an instant; as they stand now if they came later."""
    if known_at is None:
        return appliance
    (registered,) = as_known(Appliance, known_at, ids=[appliance.pk]) or [appliance]
    (registered.site,) = as_known(Site, known_at, ids=[appliance.site_id]) or [appliance.site]
    customer_id = registered.site.customer_id
    (registered.site.customer,) = as_known(Customer, known_at, ids=[customer_id]) or [appliance.site.customer]
    return registered


def facts_of(visits: Iterable[Visit], purged_mg: Mapping[int, int]) -> list[Fact]:
    """The facts of visits in legal order; within a visit in the order of the work.

    Args:
        visits: the visits.
        purged_mg: milligrams that were purged and destroyed, by the line of the visit that replaced them.
    """
    open_leaks = _OpenLeaks()
    return [
        fact
        for visit in visits
        for fact in _less_purged(_visit_facts(visit, open_leaks), purged_mg.get(visit.line_id, 0))
    ]


def _less_purged(facts: Iterator[Fact], purged_mg: int) -> Iterator[Fact]:
    """What was purged and destroyed is left out of the additions that count, in their order, until it is used up."""
    for fact in facts:
        if purged_mg and is_counted_addition(fact):
            left_out_mg = min(purged_mg, fact.mass_mg or 0)
            purged_mg -= left_out_mg
            yield replace(fact, purged_and_destroyed_mg=left_out_mg)
        else:
            yield fact


@dataclass
class _OpenLeaks:
    """The leaks that were found or worked on and that no follow-up test has passed since, by number."""

    leaks: set[int] = field(default_factory=set)

    def take_test(self, test: TestRow) -> bool:
        """Return whether no leak is open once a follow-up test is counted."""
        if test.is_passed:
            self.leaks.discard(test.leak)
        else:
            self.leaks.add(test.leak)
        return not self.leaks


def _visit_facts(visit: Visit, open_leaks: _OpenLeaks) -> Iterator[Fact]:
    event = visit.reference
    yield from _transfers(visit, event, open_leaks)
    if visit.is_inspected:
        # It counts when all visible and accessible parts were inspected (40 CFR 82.157(g), 84.106(g)).
        found = len(set(visit.found))
        yield Fact(on=visit.on, kind=FactKind.LEAK_INSPECTION, event=event, leaks_found=found)
    open_leaks.leaks.update(visit.found)
    for repair in visit.repairs:
        open_leaks.leaks.add(repair.leak)
        yield Fact(
            on=visit.on,
            kind=FactKind.REPAIR,
            event=event,
            leak=_leak_name(repair.leak),
            is_evacuated=repair.is_evacuated,
        )
    for test in visit.tests:
        if test.kind == VerificationKind.INITIAL:
            yield _test(visit, event, test, FactKind.INITIAL_VERIFICATION_TEST)
    yield from (_statement(visit, event, statement) for statement in visit.statements)
    for test in visit.tests:
        if test.kind == VerificationKind.FOLLOW_UP:
            all_leaks = open_leaks.take_test(test)
            yield _test(visit, event, test, FactKind.FOLLOW_UP_VERIFICATION_TEST, all_leaks=all_leaks)


def _transfers(visit: Visit, event: str, open_leaks: _OpenLeaks) -> Iterator[Fact]:
    """Gross masses into and out of the appliance."""
    for transfer in visit.transfers:
        if transfer.is_addition and transfer.leak is not None:
            open_leaks.leaks.add(transfer.leak)
        yield Fact(
            on=visit.on,
            kind=FactKind.ADDITION if transfer.is_addition else FactKind.REMOVAL,
            mass_mg=transfer.mass_mg,
            reason=transfer.reason,
            event=event,
            leak=_leak_name(transfer.leak) if transfer.is_addition else None,
        )


def _test(visit: Visit, event: str, test: TestRow, kind: FactKind, *, all_leaks: bool = True) -> Fact:
    return Fact(
        on=visit.on,
        kind=kind,
        event=event,
        leak=_leak_name(test.leak),
        passed=test.is_passed,
        all_leaks=all_leaks,
    )


def _statement(visit: Visit, event: str, statement: StatementRow) -> Fact:
    details = {key: value for key, value in statement.details.items() if key in _FACT_FIELDS}
    for name in _DATES:
        if isinstance(details.get(name), str):
            details[name] = datetime.date.fromisoformat(details[name])
    if designation := statement.details.get("refrigerant"):
        details["refrigerant"] = find(designation)
    kind = FactKind(StatementKind(statement.kind).value)
    return Fact(on=visit.on, kind=kind, event=event, **details)


def _leak_name(number: int | None) -> str | None:
    return None if number is None else f"L{number}"
