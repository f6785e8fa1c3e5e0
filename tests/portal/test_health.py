"""The address that a monitor asks."""

import datetime

import pytest
from django.db import DatabaseError
from django.utils import timezone

from compliance.models import AssessmentSweep, TaskRun
from portal import health
from portal.celery import BEAT_SCHEDULE


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


@pytest.mark.django_db
def test_a_monitor_learns_that_a_task_is_late(client):
    now = timezone.now()
    for entry in BEAT_SCHEDULE.values():
        TaskRun.objects.create(name=entry["task"], started_at=now)
    answer = client.get("/healthz/tasks")
    assert (answer.status_code, answer.json()) == (200, {"status": "ok", "late": []})

    TaskRun.objects.filter(name="compliance.tasks.send_reminders").delete()
    AssessmentSweep.objects.create(started_at=now - datetime.timedelta(hours=2), stale_count=1)
    answer = client.get("/healthz/tasks")

    assert answer.status_code == 503
    assert answer.json() == {"status": "late", "late": ["Send reminders", "Assess every appliance: not done"]}
