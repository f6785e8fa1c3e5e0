"""When a facility may change its leak rate method: both sides of each condition of 40 CFR 84.106(b)(3)."""

from datetime import date

import pytest

from compliance.rulebook.facts import LeakRateMethod
from compliance.rulebook.method_change import (
    Facility,
    FacilityAppliance,
    ProposedChange,
    method_change_objections,
    newest_rates,
)
from compliance.rulebook.parse import parse
from tests.compliance.rulebook.scenario import added, document, fact

ANNUALIZING, ROLLING = LeakRateMethod.ANNUALIZING, LeakRateMethod.ROLLING_AVERAGE
RULES = ("us-federal",)


def _appliance(facts, name="Chiller 1", **described):
    request = parse(document(facts, as_of="2026-12-31", **described))
    return FacilityAppliance(name, request.appliance, tuple(request.facts))


def _facility(*appliances, **fields):
    return Facility(rules=fields.pop("rules", RULES), appliances=appliances, **fields)


def _change(on="2026-08-03", acquired_on="2026-06-01", **fields):
    return ProposedChange(
        on=date.fromisoformat(on),
        acquired_on=date.fromisoformat(acquired_on),
        **{"former": ANNUALIZING, "method": ROLLING, "is_owners_method": True, **fields},
    )


def _objections(change=None, facility=None):
    found = method_change_objections(change or _change(), facility or _facility(_appliance([])))
    return [(objection.field, objection.citation) for objection in found]


PARAGRAPH = "40 CFR 84.106(b)(3)"


def test_an_acquired_facility_may_change():
    facility = _facility(_appliance([added("2026-02-02", 2)]), owners_methods=frozenset({ROLLING}))

    assert _objections(facility=facility) == []


@pytest.mark.parametrize(("rules", "is_refused"), [(("us-federal", "us-california"), False), (("eu",), True)])
def test_it_is_of_the_united_states(rules, is_refused):
    assert bool(_objections(facility=_facility(rules=rules))) is is_refused


@pytest.mark.parametrize(("on", "is_refused"), [("2025-12-31", True), ("2026-01-01", False)])
def test_the_section_is_in_force_from_2026(on, is_refused):
    # 40 CFR 84.106(b), as read: from 1 January 2026.
    found = _objections(_change(on=on, acquired_on="2025-06-01"))

    assert found == ([("happened_on", PARAGRAPH)] if is_refused else [])


def test_it_is_to_the_other_method():
    assert _objections(_change(former=ROLLING)) == [("method", PARAGRAPH)]


@pytest.mark.parametrize(
    ("acquired_on", "is_refused"), [("2026-08-02", False), ("2026-08-03", False), ("2026-08-04", True)]
)
def test_the_facility_was_acquired_by_the_day(acquired_on, is_refused):
    found = _objections(_change(acquired_on=acquired_on))

    assert found == ([("acquired_on", PARAGRAPH)] if is_refused else [])


@pytest.mark.parametrize(
    ("owners", "states_it", "refused"),
    [
        ({ROLLING}, True, []),
        ({ROLLING, ANNUALIZING}, True, []),
        (set(), True, []),
        ({ANNUALIZING}, True, [("method", PARAGRAPH)]),
        ({ROLLING}, False, [("is_owners_method", PARAGRAPH)]),
        (set(), False, [("is_owners_method", PARAGRAPH)]),
    ],
)
def test_the_new_method_is_the_owners(owners, states_it, refused):
    facility = _facility(owners_methods=frozenset(owners))

    assert _objections(_change(is_owners_method=states_it), facility) == refused


@pytest.mark.parametrize(
    ("acquired_on", "refused"), [("2026-03-02", [("acquired_on", PARAGRAPH)]), ("2026-03-03", [])]
)
def test_each_change_wants_an_acquisition_of_its_own(acquired_on, refused):
    facility = _facility(changed_on=(date(2026, 3, 2),))

    assert _objections(_change(acquired_on=acquired_on), facility) == refused


@pytest.mark.parametrize(
    ("changed_on", "refused"),
    [
        ("2026-08-02", []),
        ("2026-08-03", [("happened_on", PARAGRAPH)]),
        ("2026-08-04", [("happened_on", PARAGRAPH)]),
    ],
)
def test_none_is_put_before_one_on_record(changed_on, refused):
    facility = _facility(changed_on=(date.fromisoformat(changed_on),))

    assert _objections(_change(acquired_on="2026-08-03"), facility) == refused


@pytest.mark.parametrize(("pounds", "is_refused"), [(10, False), ("10.0001", True)])
def test_no_appliance_exceeds_its_rate(pounds, is_refused):
    # 84.106(c)(2): over 10 % for comfort cooling; in the first calculation both methods divide by the whole year.
    found = _objections(facility=_facility(_appliance([added("2026-02-02", pounds)])))

    assert found == ([("method", PARAGRAPH)] * 2 if is_refused else [])


def test_it_is_refused_where_the_former_method_alone_shows_an_exceedance():
    # 2 lb in 30 days: 2 / 100 x 365 / 30 = 24.33 % annualized, yet 3 % rolling (40 CFR 82.152).
    history = [added("2026-05-04", 1), added("2026-06-03", 2)]
    rates = newest_rates(_appliance(history), date(2026, 8, 3), RULES)

    assert [str(rates[method].percent_rounded) for method in (ANNUALIZING, ROLLING)] == ["24.33", "3.00"]
    assert _objections(facility=_facility(_appliance(history))) == [("method", PARAGRAPH)]


def test_it_is_refused_where_the_new_method_alone_shows_one():
    # 4 lb in 146 days: 4 / 100 x 365 / 146 = 10 %, at the threshold; 12 lb within the year are 12 %.
    history = [added("2025-12-01", 4), added("2026-01-15", 4), added("2026-06-10", 4)]
    rates = newest_rates(_appliance(history), date(2026, 8, 3), RULES)

    assert [str(rates[method].percent_rounded) for method in (ANNUALIZING, ROLLING)] == ["10.00", "12.00"]
    assert _objections(facility=_facility(_appliance(history))) == [("method", PARAGRAPH)]


def test_the_newest_calculation_counts_once_a_later_one_is_under():
    history = [added("2026-02-02", 4), added("2026-02-12", 1), added("2026-07-30", 1)]

    assert _objections(facility=_facility(_appliance(history))) == []


@pytest.mark.parametrize(("on", "is_refused"), [("2026-06-02", False), ("2026-06-03", True)])
def test_what_was_added_on_the_day_itself_counts(on, is_refused):
    facility = _facility(_appliance([added("2026-02-02", 1), added("2026-06-03", 11)]))

    assert bool(_objections(_change(on=on), facility)) is is_refused


@pytest.mark.parametrize(
    ("refrigerant", "pounds", "refused"),
    [
        # 40 CFR 82.157(a): 50 lb and more of an ozone-depleting refrigerant; that section knows no change of method.
        ("R-22", 50, [("method", "40 CFR 82.152, 82.157(b)")]),
        ("R-22", 49, []),
        ("R-744", 500, []),
    ],
)
def test_no_appliance_is_under_the_section_that_knows_no_change(refrigerant, pounds, refused):
    appliance = _appliance([], refrigerant=refrigerant, full_charge=pounds)

    assert _objections(facility=_facility(_appliance([]), appliance)) == refused


def test_former_changes_are_left_out_of_the_results():
    history = [fact("leak_rate_method_change", "2026-02-01", leak_rate_method="rolling_average")]
    facts = [added("2026-02-02", 1), *history, added("2026-06-03", 1)]
    rates = newest_rates(_appliance(facts), date(2026, 8, 3), RULES)

    # 1 lb in 121 days, and 2 lb in the year.
    assert [str(rates[method].percent_rounded) for method in (ANNUALIZING, ROLLING)] == ["3.02", "2.00"]
