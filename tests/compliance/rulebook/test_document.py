"""An appliance and its facts written as the document of ``assess``, and read again."""

import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from compliance.rulebook.document import document, document_json, quantity
from compliance.rulebook.errors import InvalidInput
from compliance.rulebook.masses import MAX_MASS_MG, parse_quantity
from compliance.rulebook.parse import parse, parse_json, parse_text
from tests.oracle.contract import request_text
from tests.oracle.histories import requests


@given(requests())
def test_what_is_written_reads_as_the_same_question(request):
    asked = parse_text(request_text(request))

    written = document(asked.appliance, asked.facts, as_of=asked.as_of, rules=asked.rules)

    assert parse(written) == asked
    assert parse_text(document_json(written)) == asked
    assert parse_text(document_json(written, indent=None)) == asked


@pytest.mark.parametrize(
    "fact",
    [
        {
            "kind": "addition",
            "mass": {"value": 2, "unit": "lb"},
            "purged_and_destroyed": {"value": 1, "unit": "oz"},
        },
        {"kind": "extension", "obligation": "repair", "basis": "other_regulation", "until": "2026-06-01"},
        {"kind": "plan_extension", "until": "2027-06-01", "basis": "Parts"},
        {"kind": "agency_answer", "granted": False},
        {"kind": "automatic_leak_detection", "type": "direct"},
        {
            "kind": "follow_up_verification_test",
            "passed": True,
            "all_leaks": False,
            "leak": "A",
            "event": "E",
        },
        {"kind": "leak_inspection", "leaks_found": 0},
    ],
)
def test_kinds_that_those_histories_seldom_tell_are_written_too(fact):
    text = json.dumps(
        {
            "as_of": "2026-09-01",
            "rules": ["uk"],
            "appliance": {
                "category": "other",
                "refrigerant": "R-410A",
                "full_charge": {"value": 10, "unit": "kg"},
                "leak_rate_method": "annualizing",
                "hermetically_sealed": True,
                "enclosed": True,
            },
            "facts": [{"on": "2026-03-02", **fact}],
        }
    )
    asked = parse_text(text)

    assert parse(document(asked.appliance, asked.facts, as_of=asked.as_of, rules=asked.rules)) == asked


@given(st.integers(1, MAX_MASS_MG))
def test_a_quantity_reads_back_as_the_milligrams_it_was_written_for(mass_mg):
    written = parse_json(document_json(quantity(mass_mg)))

    assert parse_quantity(written, "mass") == mass_mg


@pytest.mark.parametrize(
    ("mass_mg", "written"),
    [
        (3_175_147, {"value": 7, "unit": "lb"}),
        (5_000_000, {"value": 5, "unit": "kg"}),
        (1_488_350, {"value": 3.28125, "unit": "lb"}),
    ],
)
def test_a_quantity_is_the_figure_that_a_person_would_type(mass_mg, written):
    """7 lb, 5 kg, and 3 lb 4.5 oz, at 0.45359237 kg a pound (NIST Handbook 44, appendix C)."""
    assert json.loads(document_json(quantity(mass_mg))) == written


def test_a_figure_that_a_float_would_change_is_refused():
    with pytest.raises(InvalidInput, match="at most 15 digits"):
        document_json(parse_json('{"value": 0.12345678901234567891}'))
