"""An obligation is confirmed only if every row that decides something of it is, and it names those that aren't."""

from collections import Counter
from dataclasses import dataclass, field, replace
from decimal import Decimal, InvalidOperation

import pytest
from hypothesis import HealthCheck, given, settings

from compliance.rulebook.assess import assess
from compliance.rulebook.parse import parse
from compliance.rulebook.tables import Row, Tables, load_tables
from tests.compliance.rulebook.scenario import HFC, ODS, added, ask, fact, only, removed, repaired, rows
from tests.oracle.histories import EPISODES, FURTHER_EPISODES, RULE_SETS, requests

QUIET = [HealthCheck.too_slow, HealthCheck.filter_too_much, HealthCheck.data_too_large]
LIVES = requests(episodes=(*EPISODES, *FURTHER_EPISODES), rule_sets=RULE_SETS)
ALL_READ = Tables(tuple(replace(row, status="C") for row in load_tables().rows), "all read")


def _kg(value):
    return {"value": value, "unit": "kg"}


@pytest.mark.parametrize(("refrigerant", "rule"), [("R-410A", HFC), ("R-22", ODS)])
def test_a_federal_repair_rests_on_what_was_read(refrigerant, rule):
    """40 CFR 84.106(b)(1), (c), (d) and 82.152, 82.157(c), (d); that those days hold on is an interpretation."""
    repair = only(ask([added("2026-03-02", 12)], refrigerant=refrigerant), "repair", rule)

    assert repair.is_confirmed
    assert "From memory" not in repair.because


def test_a_chronic_leak_counts_a_calendar_year_and_no_annual_period():
    """The bound and the day of the report were read in 84.106(j); the leak rate has no part in them."""
    facts = [added("2026-03-02", 70), added("2026-04-02", 60)]

    assert only(ask(facts), "chronic_leak_report").is_confirmed


def test_a_seasonal_addition_makes_what_follows_rest_on_the_seasonal_period():
    """40 CFR 84.102, *Seasonal variance*: not read."""
    season = [
        removed("2026-02-01", 10, reason="seasonal_variance"),
        added("2026-02-20", 10, reason="seasonal_variance"),
    ]
    over = [added("2026-03-02", 70), added("2026-04-02", 60)]

    report = only(ask([*season, *over]), "chronic_leak_report")

    assert "From memory, not confirmed: 40 CFR 84.102 (seasonal variance period)." in report.because
    assert not report.is_confirmed


@pytest.mark.parametrize(
    ("rule", "refrigerant", "names"),
    [
        ("eu", "R-134a", None),
        ("eu", "R-515B", "the composition of R-515B"),
        ("uk", "R-134a", "Annexes I, II and IV (gwp basis)"),
        ("uk", "R-513A", "Annex II (gwp 517 2014)"),
        ("uk", "R-22", None),
    ],
)
def test_a_leak_check_rests_on_what_brings_the_gas_within_the_rule(rule, refrigerant, names):
    answer = ask(
        [],
        rules=(rule,),
        refrigerant=refrigerant,
        full_charge=_kg(100),
        installed_on="2025-01-01",
        as_of="2025-01-02",
    )
    check = rows(answer, "leak_check")[0]

    assert check.is_confirmed == (names is None)
    assert (names or "") in check.because


def test_a_substitute_without_hydrofluorocarbon_rests_on_its_potential(monkeypatch):
    """84.106(a)(2) holds against 53 the potential of what holds none; R-1336mzz(Z) stands at 2 and stays out of it."""
    assert ask([added("2026-03-02", 12)], refrigerant="R-1336mzz(Z)").obligations == ()


def test_california_names_the_bound_of_its_scope_and_spares_ozone_depleting_gases():
    """17 CCR 95382: the potential of 150 is from memory; an ozone-depleting refrigerant is in at any."""
    store = {"rules": ("us-california",), "category": "commercial_refrigeration", "full_charge": 300}
    facts = [fact("leak_inspection", "2026-03-01", leaks_found=1), repaired("2026-03-05")]

    unread = only(ask(facts, refrigerant="R-404A", **store), "repair")
    read = only(ask(facts, refrigerant="R-22", **store), "repair")

    assert "17 CCR 95382 (least gwp)" in unread.because
    assert (unread.is_confirmed, read.is_confirmed) == (False, True)


@dataclass(frozen=True)
class _Watched(Tables):
    """Tables that keep which rows they were asked for."""

    asked: dict[int, Row] = field(default_factory=dict)

    def find(self, *key, **terms):
        found = super().find(*key, **terms)
        if found is not None:
            self.asked[id(found)] = found
        return found


def _with(row, **changes):
    other = replace(row, **changes)
    return Tables(tuple(other if each is row else each for each in ALL_READ.rows), "one row is another")


def _other_values(row):
    try:
        value = Decimal(row.value)
    except InvalidOperation:
        return []
    return [str(value * 2 + 1), str(max(1, int(value / 3)))]


def _unmarked(request):
    """Each duty that comes out otherwise where a row says something else, and doesn't rest on that row."""
    asked = parse(request)

    def owed(tables):
        return assess(
            asked.appliance, asked.facts, as_of=asked.as_of, rules=asked.rules, tables=tables
        ).obligations

    watched = _Watched(ALL_READ.rows, "watched")
    as_read = owed(watched)
    # Only refrigerants have properties from memory left.
    assert all(
        duty.is_confirmed for duty in as_read if "From memory, not confirmed: the " not in duty.because
    )
    for row in watched.asked.values():
        from_memory = owed(_with(row, status="M"))
        for value in _other_values(row):
            otherwise = Counter(_brief(duty) for duty in owed(_with(row, value=value)))
            for duty, marked in zip(as_read, from_memory, strict=True):
                if not otherwise[_brief(duty)] and marked.is_confirmed:
                    yield row.name, _brief(duty)


def _brief(duty):
    return (duty.rule, duty.kind, duty.opened_on, duty.due_on, duty.status, duty.met_on)


@settings(max_examples=25, deadline=None, suppress_health_check=QUIET)
@given(LIVES)
def test_a_duty_rests_on_every_number_that_would_change_it(request):
    assert list(_unmarked(request)) == []


@pytest.mark.proof
@settings(max_examples=1_000, deadline=None, suppress_health_check=QUIET)
@given(LIVES)
def test_a_duty_rests_on_every_number_that_would_change_it_in_many_lives(request):
    assert list(_unmarked(request)) == []
