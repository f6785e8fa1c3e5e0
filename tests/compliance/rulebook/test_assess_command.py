"""The assess command: one JSON answer on standard output, or one JSON error on standard error and status 2."""

import io
import json
import sys

import pytest
from django.core.management import call_command

from tests.compliance.rulebook.scenario import document


def run(*arguments, capsys):
    """Standard output, standard error and the exit status."""
    status = 0
    try:
        call_command("assess", *arguments)
    except SystemExit as ended:
        status = ended.code
    out, err = capsys.readouterr()
    return out, err, status


def text():
    return json.dumps(document([], full_charge={"value": 60, "unit": "lb"}))


def test_a_file_is_answered_without_a_database(tmp_path, capsys):
    path = tmp_path / "question.json"
    path.write_text(text(), encoding="utf-8")

    out, err, status = run(str(path), capsys=capsys)

    assert (err, status) == ("", 0)
    assert json.loads(out)["applies"][0]["rule"] == "us-federal-hfc"


def test_standard_input_is_a_dash(monkeypatch, capsys):
    monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(text().encode())))

    out, _, status = run("-", capsys=capsys)

    assert status == 0
    assert json.loads(out)["as_of"] == "2026-09-01"


@pytest.mark.parametrize(
    ("content", "field"),
    [
        (b"{", "document"),
        (b"\xff", "file"),
        (b"[]", "document"),
        (b'{"as_of": "x", "rules": [], "appliance": {}, "facts": []}', "appliance.category"),
        (b"", "document"),
    ],
)
def test_bad_input_is_one_error_object(content, field, tmp_path, capsys):
    path = tmp_path / "question.json"
    path.write_bytes(content)

    out, err, status = run(str(path), capsys=capsys)

    assert (out, status) == ("", 2)
    assert json.loads(err)["error"]["field"] == field


@pytest.mark.parametrize("key", ["event", "leak"])
def test_half_of_a_surrogate_pair_is_refused_at_its_field(key, tmp_path, capsys):
    path = tmp_path / "question.json"
    addition = {"on": "2026-03-02", "kind": "addition", "mass": {"value": 7, "unit": "lb"}, key: "\ud800"}
    path.write_text(
        json.dumps(document([addition], full_charge={"value": 60, "unit": "lb"})), encoding="utf-8"
    )

    out, err, status = run(str(path), capsys=capsys)

    assert (out, status) == ("", 2)
    assert json.loads(err)["error"] == {
        "field": f"facts[0].{key}",
        "value": "\ud800",
        "expected": "text that can be written in UTF-8",
    }


def test_a_missing_file_or_name_is_an_error_object(tmp_path, capsys):
    for arguments in ([str(tmp_path / "none.json")], [str(tmp_path)], []):
        _, err, status = run(*arguments, capsys=capsys)

        assert status == 2
        assert json.loads(err)["error"]["field"] == "file"
