"""Leak checks: Regulation (EU) 2024/573 Art. 4 to 7; for Great Britain 517/2014 Art. 3 to 6, 1005/2009 Art. 23."""

import pytest

from tests.compliance.rulebook.scenario import added, ask, brief, fact, only, removed, repaired, rows

CHECK = "leak_check"


def kg(value):
    return {"value": value, "unit": "kg"}


def interval(rule, refrigerant, mass, facts=(), **appliance):
    """Due date of the first check of an appliance installed on 2025-01-01."""
    answer = ask(
        list(facts),
        rules=(rule,),
        refrigerant=refrigerant,
        full_charge=mass,
        installed_on="2025-01-01",
        as_of="2025-01-02",
        **appliance,
    )
    checks = rows(answer, CHECK)
    return str(checks[0].due_on) if checks else None


@pytest.mark.parametrize("rule", ["eu", "uk"])
@pytest.mark.parametrize(
    ("refrigerant", "grams", "due"),
    [
        # The charge that reaches 5, 50 and 500 t CO2e is 1000 × t / GWP kilograms (Art. 3(3)).
        ("R-134a", 3_496, None),
        ("R-134a", 3_497, "2026-01-01"),
        ("R-134a", 34_965, "2026-01-01"),
        ("R-134a", 34_966, "2025-07-01"),
        ("R-134a", 349_650, "2025-07-01"),
        ("R-134a", 349_651, "2025-04-01"),
        ("R-410A", 2_395, None),
        ("R-410A", 2_396, "2026-01-01"),
        ("R-404A", 12_750, "2025-07-01"),
        ("R-404A", 127_500, "2025-04-01"),
        ("R-32", 7_407, None),
        ("R-32", 7_408, "2026-01-01"),
        ("R-744", 900_000, None),
        ("R-717", 900_000, None),
    ],
)
def test_bands_of_carbon_dioxide_equivalent(rule, refrigerant, grams, due):
    assert interval(rule, refrigerant, {"value": grams, "unit": "g"}) == due


@pytest.mark.parametrize(
    ("kilograms", "due"), [(1, "2026-01-01"), (10, "2025-07-01"), (99, "2025-07-01"), (100, "2025-04-01")]
)
def test_eu_bands_of_unsaturated_gases_by_mass(kilograms, due):
    assert interval("eu", "R-1234ze(E)", kg(kilograms)) == due


def test_unsaturated_gases_alone_ask_for_nothing_in_great_britain_or_below_1_kg():
    assert interval("uk", "R-1234yf", kg(50)) is None
    assert interval("eu", "R-1234yf", {"value": 999, "unit": "g"}) is None


def test_a_blend_of_both_annexes_takes_the_stricter_band():
    # R-454C: 78.5 % R-1234yf; 13 kg hold 10.2 kg of it and come to 1.9 t CO2e.
    assert interval("eu", "R-454C", kg(13)) == "2025-07-01"


@pytest.mark.parametrize(
    ("rule", "grams", "due"),
    [("eu", 4_790, None), ("eu", 4_791, "2026-01-01"), ("uk", 4_790, None), ("uk", 4_791, "2026-01-01")],
)
def test_a_sealed_appliance_is_exempt_below_10_t(rule, grams, due):
    assert interval(rule, "R-410A", {"value": grams, "unit": "g"}, hermetically_sealed=True) == due


def test_leak_detection_doubles_the_interval():
    detection = [fact("automatic_leak_detection", "2025-01-01", type="indirect")]

    assert interval("eu", "R-410A", kg(10), detection) == "2027-01-01"
    assert interval("uk", "R-410A", kg(30), detection) == "2026-01-01"


@pytest.mark.parametrize("rule", ["eu", "uk"])
def test_checks_follow_installation_and_then_each_inspection(rule):
    facts = [fact("leak_inspection", "2026-02-01"), fact("leak_inspection", "2026-06-10", event="E2")]

    answer = ask(facts, rules=(rule,), full_charge=kg(10), installed_on="2025-01-15", as_of="2026-09-01")

    assert [brief(row) for row in rows(answer, CHECK)] == [
        ("2025-01-15", "2026-01-15", "met_late"),
        ("2026-02-01", "2027-02-01", "met"),
        ("2026-06-10", "2027-06-10", "open"),
    ]


@pytest.mark.parametrize(
    ("rule", "inspected", "status"),
    [
        ("eu", "2026-03-31", "overdue"),
        ("eu", "2026-04-01", "met"),
        ("uk", "2026-03-31", "met"),
        ("uk", "2026-05-01", "met_late"),
    ],
)
def test_the_check_after_a_repair_is_due_a_month_later_and_in_the_eu_not_on_its_day(rule, inspected, status):
    facts = [repaired("2026-03-31"), fact("leak_inspection", inspected)]

    answer = ask(facts, rules=(rule,), full_charge=kg(10), installed_on="2026-03-01", as_of="2026-06-01")

    (row,) = [
        row
        for row in rows(answer, CHECK)
        if str(row.opened_on) == "2026-03-31" and str(row.due_on) == "2026-04-30"
    ]
    assert row.status == status


def test_a_detected_leak_asks_for_repair_without_a_date():
    found = fact("leak_inspection", "2026-03-01", leaks_found=2)

    open_one = only(ask([found], rules=("eu",)), "repair")
    met = only(ask([found, repaired("2026-03-05")], rules=("eu",)), "repair")

    assert brief(open_one) == ("2026-03-01", None, "open")
    assert met.status == "met"


def test_detection_is_mandatory_from_500_t():
    answer = ask([], rules=("eu",), full_charge=kg(240), installed_on="2025-01-01")

    assert brief(only(answer, "automatic_leak_detection")) == ("2025-01-01", "2025-01-01", "overdue")
    assert rows(ask([], rules=("eu",), full_charge=kg(239)), "automatic_leak_detection") == []


@pytest.mark.parametrize(
    ("kilograms", "due"), [(2.9, None), (3, "2026-01-01"), (30, "2025-07-01"), (300, "2025-04-01")]
)
def test_ozone_depleting_refrigerant_in_great_britain_goes_by_mass(kilograms, due):
    grams = {"value": int(kilograms * 1000), "unit": "g"}

    assert interval("uk", "R-22", grams) == due
    assert interval("eu", "R-22", grams) is None


@pytest.mark.parametrize("rule", ["eu", "uk"])
def test_records_are_kept_five_years_and_no_leak_rate_is_asked_for(rule):
    answer = ask([added("2026-03-01", 12)], rules=(rule,))

    assert str(only(answer, "record_retention").due_on) == "2031-03-01"
    assert answer.leak_rates == ()
    assert answer.headroom.mass_mg is None


def test_several_rules_answer_side_by_side():
    answer = ask([added("2026-03-01", 12)], rules=("us-federal", "eu", "uk"))

    assert [verdict.rule for verdict in answer.applies] == ["us-federal-hfc", "eu", "uk"]
    assert answer.headroom.mass_mg is not None


def test_eu_law_before_its_first_day_does_not_apply():
    answer = ask([], rules=("eu",), as_of="2024-03-10")

    assert answer.applies == ()
    assert "2024-03-11" in answer.does_not_apply[0].because


@pytest.mark.parametrize("rule", ["eu", "uk"])
def test_the_verdict_shows_the_arithmetic_of_the_amount(rule):
    """R-404A: 44 % R-125 (3500), 52 % R-143a (4470), 4 % R-134a (1430), by mass: 3921.6 (AR4)."""
    (verdict,) = ask([], rules=(rule,), refrigerant="R-404A", full_charge=kg(20)).applies

    assert "20.000 kg × 3921.6 / 1000 = 78.432 t CO2e: a leak check every 6 months" in verdict.because


@pytest.mark.parametrize(("rule", "refrigerant"), [("eu", "R-410A"), ("uk", "R-410A"), ("uk", "R-22")])
def test_an_exempt_sealed_appliance_says_why(rule, refrigerant):
    answer = ask([], rules=(rule,), refrigerant=refrigerant, full_charge=kg(4), hermetically_sealed=True)

    assert answer.applies == ()
    assert "hermetically sealed appliance of that size is exempt" in answer.does_not_apply[0].because


@pytest.mark.parametrize(
    ("rule", "grams", "sealed", "is_told"),
    [
        ("eu", 2_999, True, True),
        ("eu", 3_000, True, False),
        ("eu", 2_999, False, False),
        ("uk", 2_999, True, False),
    ],
)
def test_a_sealed_appliance_that_a_home_would_exempt_is_told_so(rule, grams, sealed, is_told):
    """Regulation (EU) 2024/573 Art. 5(1), third subparagraph: below 3 kg, whatever its tonnes; R-404A is over 10 t."""
    answer = ask(
        [],
        rules=(rule,),
        refrigerant="R-404A",
        full_charge={"value": grams, "unit": "g"},
        hermetically_sealed=sealed,
    )

    (verdict,) = answer.applies
    assert ("In a residential building" in verdict.because) is is_told
    assert only(answer, CHECK).due_on is not None


@pytest.mark.parametrize("rule", ["eu", "uk"])
def test_checks_of_a_retrofitted_appliance_begin_with_the_retrofit_that_brought_it_under_the_rule(rule):
    retrofit = fact("retrofitted", "2026-02-01", refrigerant="R-410A", full_charge=kg(30))

    answer = ask([retrofit], rules=(rule,), refrigerant="R-744", full_charge=kg(30), as_of="2026-03-01")

    assert brief(only(answer, CHECK)) == ("2026-02-01", "2026-08-01", "open")


@pytest.mark.parametrize("rule", ["eu", "uk"])
def test_a_leak_found_and_repaired_before_the_rule_reached_the_appliance_asks_for_nothing(rule):
    facts = [
        fact("leak_inspection", "2026-01-05", leaks_found=1),
        repaired("2026-01-06"),
        fact("retrofitted", "2026-02-01", refrigerant="R-410A", full_charge=kg(30)),
    ]

    answer = ask(facts, rules=(rule,), refrigerant="R-744", full_charge=kg(30), as_of="2026-03-01")

    assert rows(answer, "repair") == []
    assert len(rows(answer, CHECK)) == 1


def test_detection_is_owed_from_the_charge_that_asks_for_it():
    grown = fact("full_charge_change", "2026-02-01", full_charge=kg(300), method="measured")

    answer = ask([grown], rules=("eu",), refrigerant="R-744", full_charge=kg(1), as_of="2026-03-01")
    (row,) = rows(
        ask([grown], rules=("eu",), full_charge=kg(1), as_of="2026-03-01"), "automatic_leak_detection"
    )

    assert answer.obligations == ()
    assert brief(row) == ("2026-02-01", "2026-02-01", "overdue")


@pytest.mark.parametrize(("rule", "article"), [("eu", "2024/573 Art. 8(1), (2)"), ("uk", "517/2014")])
@pytest.mark.parametrize(
    ("facts", "is_warned"),
    [
        ([], True),
        ([removed("2026-03-02", 90, reason="disposal")], False),
        ([removed("2026-03-02", 2), added("2026-03-02", 2)], True),
        ([removed("2026-03-04", 90, reason="disposal")], True),
    ],
)
def test_a_retirement_without_recovery_is_warned_of(rule, article, facts, is_warned):
    """What was contained is recovered, then recycled, reclaimed or destroyed ((EU) 2024/573 Art. 8(1), (2))."""
    retired = [*facts, fact("retired", "2026-03-03")]

    warnings = [sentence for sentence in ask(retired, rules=(rule,)).warnings if "no recovery" in sentence]

    assert bool(warnings) is is_warned
    assert all(article in sentence and "Retired on 2026-03-03" in sentence for sentence in warnings)


def test_a_small_retired_appliance_is_warned_of_too_and_no_natural_gas_is():
    """Art. 8 has no lower bound of charge; its gases are fluorinated ones."""
    retired = [fact("retired", "2026-03-03")]

    assert any("no recovery" in row for row in ask(retired, rules=("eu",), full_charge=1).warnings)
    assert not ask(retired, rules=("eu",), refrigerant="R-290").warnings
    assert not any("no recovery" in row for row in ask(retired, rules=("us-federal",)).warnings)
