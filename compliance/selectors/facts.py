"""Filed records to the rulebook's facts, and the rulebook's answer for one appliance.

Pure mapping: nothing here judges. Records filed, amended or voided after ``known_at`` don't count.
"""

import datetime
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field

from compliance.rulebook import facts as rulebook
from compliance.rulebook.assess import Assessment, assess
from compliance.rulebook.facts import Category, Fact, FactKind
from compliance.rulebook.refrigerants import find
from compliance.rulebook.rules import EU, UK, US_CALIFORNIA, US_FEDERAL
from compliance.selectors.filed_facts import filed_facts
from compliance.selectors.visit_rows import with_rows
from jobs.models import (
    Appliance,
    CaseFiling,
    Jurisdiction,
    Leak,
    LeakInspection,
    ServiceEvent,
    Site,
    Statement,
    StatementKind,
    VerificationKind,
    VerificationTest,
)
from jobs.selectors.case_filings import current_filings
from jobs.selectors.events import current_events
from jobs.selectors.history import as_known

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
    events, filings = current_events(appliance, known_at), current_filings(appliance, known_at)
    if isinstance(without, ServiceEvent):
        events = events.exclude(pk=without.pk)
    elif without is not None:
        filings = filings.exclude(pk=without.pk)
    return describe(appliance), [*facts_of(with_rows(events)), *filed_facts(filings)]


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
    """The appliance and its site as the registers stood at an instant; as they stand now if they came later."""
    if known_at is None:
        return appliance
    (registered,) = as_known(Appliance, known_at, ids=[appliance.pk]) or [appliance]
    (registered.site,) = as_known(Site, known_at, ids=[appliance.site_id]) or [appliance.site]
    return registered


def facts_of(visits: Iterable[ServiceEvent]) -> list[Fact]:
    """The facts of visits that carry their rows, in legal order; within a visit in the order of the work."""
    open_leaks = _OpenLeaks()
    return [fact for visit in visits for fact in _visit_facts(visit, open_leaks)]


@dataclass
class _OpenLeaks:
    """The leaks that were found or worked on and that no follow-up test has passed since."""

    leak_ids: set[int] = field(default_factory=set)

    def take_test(self, test: VerificationTest) -> bool:
        """Return whether no leak is open once a follow-up test is counted."""
        if test.is_passed:
            self.leak_ids.discard(test.leak_id)
        else:
            self.leak_ids.add(test.leak_id)
        return not self.leak_ids


def _visit_facts(visit: ServiceEvent, open_leaks: _OpenLeaks) -> Iterator[Fact]:
    yield from _transfers(visit, open_leaks)
    yield from _inspection(visit)
    open_leaks.leak_ids.update(finding.leak_id for finding in visit.leak_findings.all())
    yield from _repairs(visit, open_leaks)
    tests = list(visit.verification_tests.all())
    yield from (
        _test(visit, test, FactKind.INITIAL_VERIFICATION_TEST)
        for test in tests
        if test.kind == VerificationKind.INITIAL
    )
    yield from (_statement(visit, statement) for statement in visit.statements.all())
    for test in tests:
        if test.kind == VerificationKind.FOLLOW_UP:
            all_leaks = open_leaks.take_test(test)
            yield _test(visit, test, FactKind.FOLLOW_UP_VERIFICATION_TEST, all_leaks=all_leaks)


def _transfers(visit: ServiceEvent, open_leaks: _OpenLeaks) -> Iterator[Fact]:
    """Gross masses into and out of the appliance; the reversals that an amendment makes are bookkeeping."""
    for transfer in visit.transfers.all():
        if transfer.reverses_id is not None:
            continue
        is_addition = transfer.to_holder.appliance_id == visit.appliance_id
        if is_addition and transfer.leak_id is not None:
            open_leaks.leak_ids.add(transfer.leak_id)
        yield Fact(
            on=visit.happened_on,
            kind=FactKind.ADDITION if is_addition else FactKind.REMOVAL,
            mass_mg=transfer.mass_mg,
            reason=transfer.reason,
            event=visit.reference,
            leak=_leak_name(transfer.leak) if is_addition else None,
        )


def _inspection(visit: ServiceEvent) -> Iterator[Fact]:
    """An inspection counts when all visible and accessible parts were inspected (40 CFR 82.157(g), 84.106(g))."""
    inspection: LeakInspection | None = getattr(visit, "leak_inspection", None)
    if inspection is not None and inspection.is_complete:
        yield Fact(
            on=visit.happened_on,
            kind=FactKind.LEAK_INSPECTION,
            event=visit.reference,
            leaks_found=len({finding.leak_id for finding in visit.leak_findings.all()}),
        )


def _repairs(visit: ServiceEvent, open_leaks: _OpenLeaks) -> Iterator[Fact]:
    for repair in visit.repairs.all():
        open_leaks.leak_ids.add(repair.leak_id)
        yield Fact(
            on=visit.happened_on,
            kind=FactKind.REPAIR,
            event=visit.reference,
            leak=_leak_name(repair.leak),
            is_evacuated=repair.is_evacuated,
        )


def _test(visit: ServiceEvent, test: VerificationTest, kind: FactKind, *, all_leaks: bool = True) -> Fact:
    return Fact(
        on=visit.happened_on,
        kind=kind,
        event=visit.reference,
        leak=_leak_name(test.leak),
        passed=test.is_passed,
        all_leaks=all_leaks,
    )


def _statement(visit: ServiceEvent, statement: Statement) -> Fact:
    details = {key: value for key, value in statement.details.items() if key in _FACT_FIELDS}
    for name in _DATES:
        if isinstance(details.get(name), str):
            details[name] = datetime.date.fromisoformat(details[name])
    if designation := statement.details.get("refrigerant"):
        details["refrigerant"] = find(designation)
    return Fact(
        on=visit.happened_on,
        kind=FactKind(StatementKind(statement.kind).value),
        event=visit.reference,
        **details,
    )


def _leak_name(leak: Leak | None) -> str | None:
    return None if leak is None else f"L{leak.number}"
