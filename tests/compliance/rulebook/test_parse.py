"""The assess document: every key read, everything else refused with the path of what is wrong."""

import json
from copy import deepcopy
from datetime import date
from decimal import Decimal

import pytest

from compliance.rulebook.errors import InvalidInput
from compliance.rulebook.facts import Category, FactKind, LeakRateMethod
from compliance.rulebook.parse import parse, parse_text
from tests.compliance.rulebook.scenario import document, fact, lb

EVERY_KIND = [
    fact(
        "addition",
        "2026-03-02",
        mass=lb(7),
        event="E1",
        leak="valve",
        purged_and_destroyed=lb(1),
        reason="service",
    ),
    fact("removal", "2026-03-02", mass={"lb": 3, "oz": Decimal("4.5")}, reason="disposal"),
    fact("leak_inspection", "2026-03-03", leaks_found=2),
    fact("repair", "2026-03-04", evacuated=True, leak="valve"),
    fact("initial_verification_test", "2026-03-05", passed=False, leak="valve"),
    fact("normal_operation", "2026-03-06"),
    fact("follow_up_verification_test", "2026-03-07", passed=True, all_leaks=False),
    fact("industrial_process_shutdown_required", "2026-03-08"),
    fact("mothballed", "2026-03-09"),
    fact("returned_to_service", "2026-03-10"),
    fact("full_charge_change", "2026-03-11", full_charge=lb(80), method="measured"),
    fact("extension", "2026-03-12", obligation="repair", basis="parts", delivered_on="2026-05-01"),
    fact(
        "extension",
        "2026-03-12",
        obligation="initial_verification_test",
        basis="radiological",
        until="2026-06-01",
    ),
    fact("retrofit_or_retirement_elected", "2026-03-13"),
    fact("retrofit_or_retirement_plan", "2026-03-14"),
    fact("retrofitted", "2026-03-15", refrigerant="R454B", full_charge=lb(70)),
    fact("retired", "2026-03-16"),
    fact("relief_requested", "2026-03-17"),
    fact("plan_extension", "2026-03-18", until="2028-01-01", basis="custom_built"),
    fact("agency_answer", "2026-03-19", granted=True),
    fact("automatic_leak_detection", "2026-03-20", type="direct"),
    fact("leak_detection_calibration", "2026-03-21"),
    fact("chronic_leak_report_filed", "2027-02-01", year=2026),
    fact("annual_report_filed", "2027-02-01", year=2026),
    fact("leak_rate_method_change", "2027-02-02", leak_rate_method="rolling_average"),
]


def test_every_kind_of_fact_is_read():
    request = parse(document(EVERY_KIND))

    assert {item.kind for item in request.facts} == set(FactKind)
    first, second, *_ = request.facts
    assert (first.mass_mg, first.purged_and_destroyed_mg, first.event, first.leak) == (
        3_175_147,
        453_592,
        "E1",
        "valve",
    )
    assert (second.mass_mg, second.reason) == (1_488_350, "disposal")
    assert request.facts[15].refrigerant.designation == "R-454B"


def test_the_appliance_is_read():
    request = parse(
        document(
            [],
            category="other",
            hermetically_sealed=True,
            enclosed=True,
            residential_or_light_commercial=True,
        )
    )

    appliance = request.appliance
    assert appliance.category is Category.OTHER
    assert appliance.leak_rate_method is LeakRateMethod.ANNUALIZING
    assert appliance.installed_on == date(2019, 5, 1)
    assert (appliance.is_hermetically_sealed, appliance.is_enclosed) == (True, True)
    assert appliance.is_residential_or_light_commercial


def test_only_what_is_required_may_be_left_out():
    asked = document([])
    del asked["appliance"]["installed_on"]

    assert parse(asked).appliance.installed_on is None
    asked["appliance"]["installed_on"] = None
    assert parse(asked).appliance.installed_on is None


@pytest.mark.parametrize(
    ("path", "value"),
    [
        ("as_of", "2026-2-1"),
        ("rules", []),
        ("rules", "us-federal"),
        ("rules[0]", "us-federal-hfc"),
        ("appliance.category", "chiller"),
        ("appliance.refrigerant", "R-999"),
        ("appliance.refrigerant", 410),
        ("appliance.full_charge", 60),
        ("appliance.full_charge.value", 0),
        ("appliance.leak_rate_method", "rolling"),
        ("appliance.installed_on", "yesterday"),
        ("appliance.enclosed", "yes"),
        ("appliance.hermetically_sealed", None),
        ("appliance.colour", "grey"),
        ("facts", {}),
        ("facts[0]", "addition"),
        ("facts[0].kind", "topping_up"),
        ("facts[0].kind", None),
        ("facts[0].on", "2026-02-30"),
        ("facts[0].mass.value", -1),
        ("facts[0].mass.unit", "stone"),
        ("facts[0].reason", "disposal"),
        ("facts[0].event", 7),
        ("facts[0].event", " "),
        ("facts[0].passed", True),
        ("facts[0].purged_and_destroyed", lb(8)),
        ("facts[1].reason", "installation"),
        ("facts[2].leaks_found", -1),
        ("facts[2].leaks_found", "two"),
        ("facts[3].evacuated", 1),
        ("facts[4].passed", "no"),
        ("facts[11].obligation", "leak_inspection"),
        ("facts[11].basis", "weather"),
        ("facts[11].until", "2026-06-01"),
        ("facts[12].delivered_on", "2026-06-01"),
        ("facts[18].until", None),
        ("facts[20].type", "both"),
        ("facts[22].year", 2026.0),
        ("surprise", 1),
    ],
)
def test_what_is_wrong_is_refused_with_its_path(path, value):
    asked = deepcopy(document(EVERY_KIND))
    *parents, last = path.replace("[", ".[").split(".")
    place = asked
    for parent in parents:
        place = place[int(parent[1:-1])] if parent.startswith("[") else place[parent]
    place[int(last[1:-1]) if last.startswith("[") else last] = value

    with pytest.raises(InvalidInput) as refused:
        parse(asked)

    assert (refused.value.field, refused.value.value) == (path, value)
    assert refused.value.expected


@pytest.mark.parametrize(
    "key",
    [
        "as_of",
        "rules",
        "appliance",
        "facts",
        "appliance.category",
        "appliance.refrigerant",
        "appliance.full_charge",
        "appliance.leak_rate_method",
        "facts[0].on",
        "facts[0].mass",
        "facts[4].passed",
        "facts[12].until",
        "facts[15].refrigerant",
        "facts[19].granted",
    ],
)
def test_what_is_missing_is_named(key):
    asked = deepcopy(document(EVERY_KIND))
    *parents, last = key.replace("[", ".[").split(".")
    place = asked
    for parent in parents:
        place = place[int(parent[1:-1])] if parent.startswith("[") else place[parent]
    del place[last]

    with pytest.raises(InvalidInput) as refused:
        parse(asked)

    assert (refused.value.field, refused.value.value) == (key, None)


@pytest.mark.parametrize(
    "text",
    [
        "",
        "{",
        "[]",
        "null",
        "1",
        '{"as_of": NaN}',
        '{"as_of": 1, "as_of": 2}',
        "[" * 100_000,
        '{"a": 1' + "0" * 9000 + "}",
    ],
)
def test_what_is_not_one_json_object_is_refused(text):
    with pytest.raises(InvalidInput):
        parse_text(text)


def test_numbers_are_never_floats():
    # 0.1 lb × 3 as binary floats would be 136 077.71100000001 mg; the document says exactly 0.3.
    text = json.dumps(document([], full_charge={"value": 0, "unit": "lb"})).replace(
        '"value": 0', '"value": 0.3'
    )

    assert parse_text(text).appliance.full_charge_mg == 136_078


def test_the_same_rule_named_twice_is_one():
    assert parse(document([], rules=("us-federal", "eu", "us-federal"))).rules == ("us-federal", "eu")
