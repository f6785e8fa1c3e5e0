"""Reminders with real workers on real brokers; tests/compliance/test_reminder_kills.py kills them."""

import datetime
from collections import Counter

import pytest

from compliance.models import Reminder, TaskRun
from compliance.services.reminders import reminders_raise
from jobs.models import Appliance
from tests import people
from tests.brokers import wait_until
from tests.compliance.firm import add_appliance, over_the_threshold
from tests.compliance.mail_server import MailServer

SEND = "compliance.tasks.send_reminders"
SWEEP = "compliance.tasks.sweep_assessments"
APPLIANCES = 6


@pytest.fixture
def owed(transactional_db):
    """Appliances over the threshold ten days ago and an officer: nothing is raised yet."""
    admin = people.office_admin()
    people.officer()
    started_on = datetime.datetime.now(datetime.UTC).date() - datetime.timedelta(days=25)
    appliances = [add_appliance(admin, f"Chiller {number}") for number in range(APPLIANCES)]
    for appliance in appliances:
        over_the_threshold(admin, appliance, started_on.isoformat())
    return appliances


def _emails(state=None):
    rows = Reminder.objects.filter(channel="email")
    return rows.filter(state=state) if state else rows


def test_a_worker_assesses_raises_and_sends(broker, owed):
    Appliance.objects.first().assessment.delete()
    with MailServer() as server:
        broker.start_worker(EMAIL_URL=server.url)
        broker.send(SWEEP)
        wait_until(lambda: _emails().count() == 2 * APPLIANCES, what="the reminders to be raised")
        broker.send(SEND)
        wait_until(lambda: _emails("sent").count() == 2 * APPLIANCES, what="the reminders to be sent")

        assert len(set(server.received)) == len(server.received) == 2 * APPLIANCES
    assert not TaskRun.objects.get(name=SEND).has_failed


def test_two_workers_at_once_send_nothing_twice(folder_broker, owed):
    reminders_raise(now=datetime.datetime.now(datetime.UTC))
    with MailServer(seconds_to_answer=0.05) as server:
        folder_broker.start_worker(concurrency=2, EMAIL_URL=server.url)
        for _ in range(4):
            folder_broker.send(SEND)
        wait_until(lambda: _emails("sent").count() == 2 * APPLIANCES, what="the reminders to be sent")

        assert max(Counter(server.received).values()) == 1
