"""What wasn't read in the law itself is listed, each datum with where to look it up."""

import json

import pytest
from django.core.management import call_command

from compliance.rulebook.refrigerants import all_refrigerants
from compliance.rulebook.tables import load_tables
from compliance.rulebook.unconfirmed import CODE, REFRIGERANTS, unconfirmed
from compliance.selectors.fill_tables import unconfirmed_filling

ROW = '[[row]]\nrule = "r"\nkey = "k"\nvalue = "1"\nunit = "days"\ncitation = "c"\neffective_from = 2020-01-01\n'


def _listed(tmp_path, ending):
    (tmp_path / "rows.toml").write_text(ROW + ending, encoding="utf-8")
    return [one for one in unconfirmed(load_tables(tmp_path), sources=()) if one.rule == "r"]


@pytest.mark.parametrize(
    ("ending", "statuses"),
    [
        ('status = "C"\n', []),
        ('status = "C"\nnote = "the first day from memory"\n', ["M"]),
        ('status = "2"\n', ["2"]),
        ('status = "M"\n', ["M"]),
        ('status = "I"\n', ["I"]),
    ],
)
def test_a_row_is_listed_unless_it_was_read_whole(tmp_path, ending, statuses):
    assert [one.status for one in _listed(tmp_path, ending)] == statuses


def test_a_row_says_what_it_is_for_and_where_to_look(tmp_path):
    (row,) = _listed(
        tmp_path,
        'status = "M"\ncategory = "comfort_cooling"\ncharge_least = "15 lb"\ncharge_below = "500 lb"\n',
    )

    assert (row.key, row.value, row.citation) == ("k", "1 day", "c")
    assert row.applies_to == "comfort cooling, from 15 lb, below 500 lb"


def test_every_unconfirmed_property_of_a_refrigerant_is_listed():
    listed = {(one.applies_to, one.key) for one in unconfirmed(load_tables()) if one.rule == REFRIGERANTS}

    for refrigerant in all_refrigerants():
        name = refrigerant.designation
        assert ((name, "safety_class") in listed) == (not refrigerant.is_safety_class_confirmed)
        assert ((name, "pressure_class") in listed) == (not refrigerant.is_pressure_class_confirmed)
        for key in ("composition", "gwp_ar4", "gwp_ar5", "gwp_ar6", "odp"):
            assert ((name, key) in listed) == (key in refrigerant.from_memory)


def test_marks_in_the_code_are_listed(tmp_path):
    mark = "# UNCONFIRMED" + ": the period is a guess"
    (tmp_path / "choice.py").write_text(f"A = 1\n{mark}\nB = 2\n", encoding="utf-8")

    found = [one for one in unconfirmed(load_tables(), sources=(tmp_path,)) if one.rule == CODE]

    assert [(one.key, one.applies_to, one.note) for one in found] == [
        ("choice", "line 2", "the period is a guess")
    ]
    assert {one.key for one in unconfirmed(load_tables()) if one.rule == CODE} == {
        "policy",
        "california_specs",
    }


def test_the_command_prints_a_table_or_json(capsys):
    call_command("unconfirmed")
    table = capsys.readouterr().out
    call_command("unconfirmed", "--json")
    objects = json.loads(capsys.readouterr().out)

    assert len(objects) == len(unconfirmed(load_tables())) + len(unconfirmed_filling())
    assert ("filling_density", "R-152a") in {(one["key"], one["applies_to"]) for one in objects}
    assert {"rule", "key", "value", "citation", "status"} <= set(objects[0])
    assert table.splitlines()[0].split()[:2] == ["rule", "key"]
    assert f"{sum(one['status'] == 'M' for one in objects)} from memory, unconfirmed" in table
    for one in objects:
        assert one["citation"] in table
