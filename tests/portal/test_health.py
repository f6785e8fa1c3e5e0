"""The address that a monitor asks."""

import pytest
from django.db import DatabaseError

from portal import health


@pytest.mark.django_db
def test_answers_a_stranger_that_all_is_well(client):
    answer = client.get("/healthz")

    assert answer.status_code == 200
    assert answer.json() == {"status": "ok", "database": "ok", "cache": "ok", "broker": "ok"}
    assert "no-store" in answer["Cache-Control"]


@pytest.mark.django_db
def test_names_the_part_that_fails_without_its_message(client, monkeypatch):
    def fail():
        raise DatabaseError("password of db.example is wrong")

    monkeypatch.setitem(health.PARTS, "database", fail)

    answer = client.get("/healthz")

    assert answer.status_code == 503
    assert answer.json()["status"] == "failing"
    assert answer.json()["database"] == "failing (DatabaseError)"
    assert "db.example" not in answer.text
