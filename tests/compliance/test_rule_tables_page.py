"""The page of the law's numbers: who opens it, what it shows, how it narrows."""

import pytest
from django.test import Client
from django.urls import reverse

from compliance.rulebook.tables import Tables, load_tables
from compliance.rulebook.unconfirmed import REFRIGERANTS, unconfirmed
from compliance.selectors.fill_tables import FILLING, filling_numbers
from compliance.selectors.rule_tables import TABLES, rule_tables
from tests import people

pytestmark = pytest.mark.django_db


def _page(maker=people.technician_user, **query):
    client = Client()
    client.force_login(maker())
    return client.get(reverse("rule-tables"), query)


def test_every_rule_of_the_tables_has_a_name():
    assert {row.rule for row in load_tables().rows} == set(TABLES) - {FILLING, REFRIGERANTS}


def test_every_row_is_shown_with_value_days_source_and_status():
    page = _page().content.decode()

    further = len(list(filling_numbers())) + len(unconfirmed(Tables((), ""), sources=()))
    assert f"{len(load_tables().rows) + further} numbers" in page
    assert "Commercial refrigeration" in page
    assert "20 %" in page
    assert "2026-01-01" in page
    assert "40 CFR 84.106(c)(2)" in page
    assert "From memory, unconfirmed" in page
    assert "Read in the source cited" in page


def test_it_narrows_to_a_rule_and_to_what_was_not_read():
    rows = _page(rule="us-federal-hfc", sure="no").context["tables"][0].rows

    assert rows
    assert all(row.is_unconfirmed for row in rows)
    assert {"40 CFR 84.108"} <= {row.citation for row in rows}


def test_a_rule_read_in_full_says_so():
    page = _page(rule="eu", sure="no").content.decode()

    assert "Nothing here rests on memory" in page


def test_an_unknown_rule_shows_all():
    assert len(_page(rule="atlantis").context["tables"]) == len(TABLES)


def test_strangers_are_refused():
    assert _page(people.stranger).status_code == 403


def test_charge_bands_and_categories_are_in_words():
    (california,) = rule_tables(load_tables(), rule="us-california")

    assert "from 200 lb, below 2000 lb" in {row.applies_to for row in california.rows}


def test_refrigerants_and_filling_show_what_was_not_read():
    """R-515B's composition and the filling density of R-152a are from memory; Guideline K was read."""
    page = _page(sure="no").content.decode()

    assert "R-1234ze(E) 91.1 % R-227ea 8.9 %" in page
    assert "79 % of the water mass" in page
    assert "At 55 °C, as supplied" in page
    assert "AHRI Guideline K-2004" not in page
    assert "AHRI Guideline K-2004" in _page(people.officer, rule=FILLING).content.decode()
