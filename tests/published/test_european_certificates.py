"""Which work European and British certificates cover.

Source: Implementing Regulation (EU) 2024/2215 Art. 3(2), as read: A1 covers fluorinated gases and hydrocarbons, A2 the
same below 3 kg, or 6 kg hermetically sealed and labelled, B carbon dioxide, C ammonia, D recovery alone within the
bounds of A2, E leak checks without breaking into the circuit. Regulation (EU) 2024/573 Art. 5(3)(c), 10(1).
The categories I to IV of Implementing Regulation (EU) 2015/2067 Art. 3(2) are from memory, and so is Art. 10 of
Regulation (EU) No 517/2014 as Great Britain keeps it.
"""

from datetime import date

import pytest

from compliance.rulebook.appliance_class import Circuit
from compliance.rulebook.european_certification import (
    Activity,
    Job,
    certificate_shortfall,
    trainee_period_ends_on,
)
from compliance.rulebook.masses import parse_mass_mg
from compliance.rulebook.refrigerants import find

WORK, RECOVERY, LEAK_CHECK = Activity.WORK, Activity.RECOVERY, Activity.LEAK_CHECK
EU_TYPES = ("eu_a1", "eu_a2", "eu_b", "eu_c", "eu_d", "eu_e")
CATEGORIES = ("category_i", "category_ii", "category_iii", "category_iv")


def job(refrigerant="R-410A", kilograms="100", activity=WORK, *, rule="eu", sealed=False, mvac=False):
    circuit = Circuit(find(refrigerant), parse_mass_mg(kilograms, "kg"), sealed, mvac)
    return Job(rule, circuit, activity, date(2026, 5, 1))


def covering(job, types):
    return [kind for kind in types if certificate_shortfall(job, [kind]) is None]


@pytest.mark.parametrize(
    ("refrigerant", "kilograms", "sealed", "activity", "types"),
    [
        ("R-410A", "100", False, WORK, ["eu_a1"]),
        ("R-290", "100", False, WORK, ["eu_a1"]),
        ("R-1234yf", "2.999", False, WORK, ["eu_a1", "eu_a2"]),
        ("R-410A", "3", False, WORK, ["eu_a1"]),
        ("R-410A", "3", True, WORK, ["eu_a1", "eu_a2"]),
        ("R-410A", "6", True, WORK, ["eu_a1"]),
        ("R-744", "1", False, WORK, ["eu_b"]),
        ("R-717", "1", False, WORK, ["eu_c"]),
        ("R-410A", "2.999", False, RECOVERY, ["eu_a1", "eu_a2", "eu_d"]),
        ("R-410A", "3", False, RECOVERY, ["eu_a1"]),
        ("R-410A", "100", False, LEAK_CHECK, ["eu_a1", "eu_e"]),
    ],
)
def test_article_3_2_of_2024_2215(refrigerant, kilograms, sealed, activity, types):
    work = job(refrigerant, kilograms, activity, sealed=sealed)

    assert covering(work, EU_TYPES) == types


@pytest.mark.parametrize(("rule", "prefix"), [("eu", "eu"), ("uk", "gb")])
@pytest.mark.parametrize(
    ("kilograms", "sealed", "activity", "categories"),
    [
        ("100", False, WORK, ["category_i"]),
        ("2.999", False, WORK, ["category_i", "category_ii"]),
        ("5.999", True, WORK, ["category_i", "category_ii"]),
        ("2.999", False, RECOVERY, ["category_i", "category_ii", "category_iii"]),
        ("100", False, LEAK_CHECK, ["category_i", "category_ii", "category_iv"]),
    ],
)
def test_categories_from_memory(rule, prefix, kilograms, sealed, activity, categories):
    work = job("R-410A", kilograms, activity, rule=rule, sealed=sealed)
    types = [f"{prefix}_{category}" for category in CATEGORIES]

    assert covering(work, types) == [f"{prefix}_{category}" for category in categories]


def test_what_was_read_binds_and_names_its_article():
    shortfall = certificate_shortfall(job(), ["eu_a2", "eu_e"])

    assert shortfall.is_binding
    assert shortfall.because == (
        "EU certificate A2 covers a charge below 3 kg; this one is 100.000 kg. "
        "EU certificate E covers leak checks alone."
    )
    assert shortfall.citation == (
        "Implementing Regulation (EU) 2024/2215 Art. 3(2); Regulation (EU) 2024/573 Art. 10(1)"
    )


def test_nobody_works_on_fluorinated_gases_in_the_union_without_a_certificate():
    shortfall = certificate_shortfall(job(), [])

    assert (shortfall.is_binding, shortfall.citation) == (True, "Regulation (EU) 2024/573 Art. 10(1)")


@pytest.mark.parametrize(
    ("work", "held"),
    [
        (job(), ["eu_category_ii"]),
        (job(), ["eu_a2", "eu_category_iv"]),
        (job("R-290"), []),
        (job("R-744"), ["eu_a1"]),
        (job(rule="uk"), []),
        (job(rule="uk"), ["gb_category_iii"]),
    ],
)
def test_what_rests_on_memory_binds_nobody(work, held):
    assert certificate_shortfall(work, held).is_binding is False


@pytest.mark.parametrize(
    "work", [job(mvac=True), job("R-22"), job("R-290", rule="uk"), job(rule="us-federal")]
)
def test_nothing_is_asked_of_cab_cooling_ozone_depleters_and_other_laws(work):
    assert certificate_shortfall(work, []) is None


def test_nothing_is_asked_before_the_law():
    circuit = job().circuit

    assert certificate_shortfall(Job("eu", circuit, WORK, date(2024, 3, 10)), []) is None
    assert certificate_shortfall(Job("eu", circuit, WORK, date(2024, 3, 11)), []) is not None


def test_a_trainee_works_for_24_months_at_most():
    # Implementing Regulation (EU) 2024/2215 Art. 3(4).
    assert trainee_period_ends_on(date(2025, 3, 10)) == date(2027, 3, 10)
    assert trainee_period_ends_on(date(2024, 2, 29)) == date(2026, 2, 28)
