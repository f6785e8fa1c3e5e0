"""What 40 CFR 82.156 asks for before a circuit is opened: table 1 cell by cell, its exceptions, the other classes."""

from datetime import date
from decimal import Decimal

import pytest

from compliance.rulebook.appliance_class import Circuit
from compliance.rulebook.errors import InvalidInput
from compliance.rulebook.evacuation import Opening, required_evacuation
from compliance.rulebook.masses import parse_mass_mg
from compliance.rulebook.refrigerants import find

ON = date(2026, 3, 2)
OLD = date(1993, 11, 14)
NEW = date(1993, 11, 15)


def asked(refrigerant, pounds, *, sealed=False, mvac=False, on=ON, **fields):
    circuit = Circuit(find(refrigerant), parse_mass_mg(pounds, "lb"), sealed, mvac)
    return required_evacuation(circuit, on=on, **fields)


@pytest.mark.parametrize(
    ("refrigerant", "pounds", "old", "new", "new_kpa_abs"),
    [
        ("R-23", 500, 0, 0, "101.25"),
        ("R-22", "199.999", 0, 0, "101.25"),
        ("R-22", 200, 4, 10, "67.39"),
        ("R-134a", "199.999", 4, 10, "67.39"),
        ("R-134a", 200, 4, 15, "50.46"),
        ("R-123", 10, 25, 25, "3.33"),
        ("R-123", 900, 25, 25, "3.33"),
    ],
)
@pytest.mark.parametrize("opening", [Opening.MAJOR, Opening.DISPOSAL])
def test_table_1(refrigerant, pounds, old, new, new_kpa_abs, opening):
    before = asked(refrigerant, pounds, machine_made_on=OLD, opening=opening)
    after = asked(refrigerant, pounds, machine_made_on=NEW, opening=opening)

    assert (before.level.value, after.level.value) == (old, new)
    assert after.level.kpa_abs == Decimal(new_kpa_abs)
    assert after.citation == "40 CFR 82.156(a), table 1"
    assert asked(refrigerant, pounds, opening=opening) == after


def test_low_pressure_is_absolute_and_the_rest_a_vacuum():
    assert asked("R-11", 220).in_words == "25 mm Hg absolute"
    assert asked("R-12", 220).in_words == "15 in Hg vacuum"


def test_a_pressure_class_not_named_in_the_law_is_marked():
    assert asked("R-410A", 22).is_confirmed
    assert not asked("R-454B", 22).is_confirmed


# 40 CFR 82.156(a)(1): not major, and no evacuation to the atmosphere afterwards.
@pytest.mark.parametrize(
    ("opening", "refrigerant", "words", "act"),
    [
        ("not_major", "R-22", "0 psig", "evacuated"),
        ("not_major", "R-123", "0 psig", "pressurized"),
        ("oil_change", "R-22", "5 psig", "evacuated or pressurized"),
        ("oil_change", "R-123", "5 psig", "evacuated or pressurized"),
    ],
)
def test_work_that_is_not_major_asks_for_less(opening, refrigerant, words, act):
    answer = asked(refrigerant, 300, opening=opening)

    assert answer.in_words == words
    assert f"so it is {act} " in answer.because
    assert answer.citation == "40 CFR 82.156(a)(1)"


# 40 CFR 82.156(a)(2).
def test_leaks_leave_the_sound_parts_at_table_1_and_the_leaking_ones_at_0_psig_at_most():
    answer = asked("R-134a", 200, opening="leaking")

    assert (answer.in_words, answer.sound_level.in_words) == ("0 psig", "15 in Hg vacuum")
    assert answer.citation == "40 CFR 82.156(a)(2)"
    assert "isolate" in answer.because


# 40 CFR 82.156(b).
@pytest.mark.parametrize(
    ("made_on", "is_running", "percent"),
    [
        (OLD, True, 80),
        (OLD, False, 80),
        (NEW, True, 90),
        (NEW, False, 80),
        (NEW, None, 90),
        (None, False, 80),
    ],
)
@pytest.mark.parametrize("opening", Opening)
def test_small_appliance(made_on, is_running, percent, opening):
    answer = asked(
        "R-134a",
        5,
        sealed=True,
        opening=opening,
        machine_made_on=made_on,
        is_compressor_running=is_running,
    )

    assert answer.recovery_pct == percent
    assert answer.level.in_words == "4 in Hg vacuum"
    assert answer.citation == "40 CFR 82.156(b)"


def test_a_sealed_appliance_of_more_than_5_lb_is_none():
    assert asked("R-134a", "5.001", sealed=True).recovery_pct is None


# 40 CFR 82.156(c), (d): 102 mm Hg vacuum, that is 87.65 kPa absolute.
def test_mvac_like_appliance():
    disposed, opened = (asked("R-134a", 20, mvac=True, opening=kind) for kind in ("disposal", "major"))

    assert (disposed.in_words, disposed.level.kpa_abs) == ("102 mm Hg vacuum", Decimal("87.65"))
    assert opened.level is None
    assert not opened.is_confirmed
    assert asked("R-134a", "20.001", mvac=True).in_words == "10 in Hg vacuum"


# 40 CFR 82.154(a)(1).
def test_carbon_dioxide_is_exempt_and_ammonia_only_where_its_use_is():
    assert asked("R-744", 300).level is None
    ammonia = asked("R-717", 300)
    assert ammonia.in_words == "10 in Hg vacuum"
    assert "none of this applies" in ammonia.because
    assert "none of this applies" not in asked("R-22", 300).because


def test_unknown_openings_and_days_before_the_rule_are_refused():
    for fields, name in (({"opening": "surgery"}, "opening"), ({"on": date(1993, 7, 12)}, "on")):
        with pytest.raises(InvalidInput) as refused:
            asked("R-22", 10, **fields)
        assert refused.value.field == name
    assert asked("R-22", 10, on=date(1993, 7, 13)).level
