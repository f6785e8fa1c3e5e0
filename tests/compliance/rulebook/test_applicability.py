"""Which federal rule applies: 40 CFR 82.157(a), 84.106(a), both sides of every bound."""

from dataclasses import replace
from datetime import date

import pytest

from compliance.rulebook.assess import assess
from compliance.rulebook.parse import parse
from compliance.rulebook.tables import load_tables
from tests.compliance.rulebook.scenario import HFC, ODS, added, ask, document, fact, lb, mg, rows

BOTH = [ODS, HFC]


def applying(**keys):
    return [verdict.rule for verdict in ask([], **keys).applies]


@pytest.mark.parametrize(
    ("refrigerant", "charge", "rules"),
    [
        # Solely ozone-depleting: 82.157 from 50 lb; 84.106(a)(3)(i) excludes it.
        ("R-22", 50, [ODS]),
        ("R-22", 49, []),
        ("R-123", 800, [ODS]),
        ("R-502", 50, [ODS]),
        ("R-409A", 50, [ODS]),
        # A blend of both is not solely ozone-depleting.
        ("R-402A", 50, BOTH),
        ("R-402A", 49, [HFC]),
        ("R-402A", 15, [HFC]),
        ("R-402A", 14, []),
        ("R-500", 60, BOTH),
        # An ozone-depleting blend without a regulated hydrofluorocarbon.
        ("R-414B", 60, [ODS]),
        ("R-403B", 60, [ODS]),
        # Hydrofluorocarbons: from 15 lb, with no test of global warming potential.
        ("R-410A", 15, [HFC]),
        ("R-410A", 14, []),
        ("R-152a", 15, [HFC]),
        ("R-516A", 15, [HFC]),
        # Substitutes without one: only above 53.
        ("R-116", 15, [HFC]),
        ("R-116", 14, []),
        ("R-744", 5000, []),
        ("R-717", 5000, []),
        ("R-290", 5000, []),
        ("R-1234yf", 5000, []),
        ("R-1233zd(E)", 5000, []),
        ("R-514A", 5000, []),
    ],
)
def test_refrigerant_and_charge_decide(refrigerant, charge, rules):
    assert applying(refrigerant=refrigerant, full_charge=charge) == rules


@pytest.mark.parametrize(
    ("refrigerant", "charge_mg", "rules"),
    [
        # 50 lb is 22 679 618.5 mg, 15 lb 6 803 885.55 mg; a bound is reached within one milligram.
        ("R-22", 22_679_619, [ODS]),
        ("R-22", 22_679_618, [ODS]),
        ("R-22", 22_679_617, []),
        ("R-410A", 6_803_885, [HFC]),
        ("R-410A", 6_803_884, []),
    ],
)
def test_a_bound_is_reached_within_a_milligram(refrigerant, charge_mg, rules):
    assert applying(refrigerant=refrigerant, full_charge=mg(charge_mg)) == rules


@pytest.mark.parametrize(("refrigerant", "rules"), [("R-410A", []), ("R-402A", [ODS]), ("R-22", [ODS])])
def test_the_residential_and_light_commercial_subsector_is_outside_84_106_alone(refrigerant, rules):
    assert applying(refrigerant=refrigerant, residential_or_light_commercial=True) == rules


@pytest.mark.parametrize(("as_of", "rules"), [("2025-12-31", []), ("2026-01-01", [HFC])])
def test_84_106_is_in_force_from_2026(as_of, rules):
    assert applying(as_of=as_of) == rules


def test_a_rule_that_does_not_apply_says_why():
    answer = ask([], full_charge=14)

    assert {verdict.rule: verdict.because for verdict in answer.does_not_apply} == {
        ODS: "R-410A holds no class I or class II ozone-depleting substance.",
        HFC: "R-410A holds a regulated hydrofluorocarbon, but the full charge of 14.000 lb is below 15 lb.",
    }


def test_no_rates_and_no_headroom_without_a_rule():
    answer = ask([added("2026-03-01", 10)], full_charge=14)

    assert (answer.leak_rates, answer.obligations, answer.headroom.mass_mg) == ((), (), None)


def test_rates_exist_only_from_the_first_day_of_the_rule():
    facts = [added("2025-12-31", 12), added("2026-01-01", 12)]

    assert [str(rate.on) for rate in ask(facts).leak_rates] == ["2026-01-01"]
    assert [str(rate.on) for rate in ask(facts, refrigerant="R-22").leak_rates] == [
        "2025-12-31",
        "2026-01-01",
    ]


def test_a_retrofit_brings_the_other_rule_from_its_place_in_the_day():
    facts = [
        added("2026-03-01", 1),
        fact("retrofitted", "2026-04-01", refrigerant="R-454B", full_charge=lb(90)),
        added("2026-04-01", 90, reason="retrofit"),
        added("2026-06-01", 2),
    ]

    answer = ask(facts, refrigerant="R-22")

    assert [(str(rate.on), rate.rule, rate.full_charge_mg) for rate in answer.leak_rates] == [
        ("2026-03-01", ODS, 45_359_237),
        ("2026-06-01", HFC, 40_823_313),
    ]
    assert [verdict.rule for verdict in answer.applies] == [HFC]


def test_a_change_of_charge_can_end_a_rule():
    facts = [
        added("2026-03-01", 1),
        fact("full_charge_change", "2026-04-01", full_charge=lb(14), method="measured"),
        added("2026-06-01", 9),
    ]

    answer = ask(facts)

    assert [str(rate.on) for rate in answer.leak_rates] == ["2026-03-01"]
    assert answer.applies == ()
    assert len(rows(answer, "record_retention")) == 1


def test_a_rule_that_changes_between_two_additions_reaches_each_as_it_was_on_its_day():
    tables = load_tables()
    floor = tables.row(HFC, "least_full_charge", on=date(2026, 6, 1))
    lower = replace(floor, value="10", effective_from=date(2026, 6, 1))
    rows_then = (*(row for row in tables.rows if row is not floor), lower)
    changed = replace(tables, rows=(*rows_then, replace(floor, effective_to=date(2026, 5, 31))))
    request = parse(document([added("2026-05-31", 2), added("2026-06-01", 2)], full_charge=12))

    answer = assess(
        request.appliance, request.facts, as_of=request.as_of, rules=request.rules, tables=changed
    )

    assert [str(rate.on) for rate in answer.leak_rates] == ["2026-06-01"]
