"""Two schedulers at once, as when a second one is started by mistake, and two workers: everything is done once."""

import datetime
from collections import Counter

import pytest

from compliance.models import ApplianceAssessment, AssessmentSweep, Reminder, TaskRun
from portal.celery import BEAT_SCHEDULE
from tests import people
from tests.brokers import wait_until
from tests.compliance.firm import add_appliance, over_the_threshold
from tests.compliance.mail_server import MailServer

APPLIANCES = 3
SCHEDULERS = 2


@pytest.fixture
def owed(transactional_db):
    """Appliances over the threshold whose clocks run out soon, an officer, and one appliance never assessed."""
    admin = people.office_admin()
    people.officer()
    started_on = datetime.datetime.now(datetime.UTC).date() - datetime.timedelta(days=25)
    for number in range(APPLIANCES):
        over_the_threshold(admin, add_appliance(admin, f"Chiller {number}"), started_on.isoformat())
    return add_appliance(admin, "Never assessed")


def test_two_schedulers_and_two_workers_do_everything_once(broker, owed):
    """Each scheduler has the whole schedule done at its start."""
    with MailServer() as server:
        nursery = broker.start_nursery(EMAIL_URL=server.url)
        workers = [nursery.start_worker() for _ in range(2)]
        for _ in range(SCHEDULERS):
            nursery.start_beat()
        emails = Reminder.objects.filter(channel="email")

        def all_ran():
            log = "".join(worker.log for worker in workers)
            return all(
                log.count(f"Task {entry['task']}[") >= 2 * SCHEDULERS for entry in BEAT_SCHEDULE.values()
            )

        wait_until(all_ran, timeout_s=60, what=lambda: f"all tasks:\n{''.join(row.log for row in workers)}")
        broker.send("compliance.tasks.send_reminders")
        wait_until(
            lambda: emails.filter(state="sent").count() == 2 * APPLIANCES,
            what=lambda: f"e-mails: {list(emails.values_list('state', 'last_error'))}",
        )
        assert set(Counter(server.received).values()) == {1}
        assert len(server.received) == 2 * APPLIANCES
        ended = TaskRun.objects.filter(finished_at__isnull=False)
        wait_until(lambda: ended.count() == len(BEAT_SCHEDULE), what="the end of all tasks")
        wait_until(
            lambda: not AssessmentSweep.objects.filter(finished_at=None).exists(), what="the sweeps' end"
        )
    assert ApplianceAssessment.objects.filter(appliance=owed).exists()
    assert not TaskRun.objects.filter(has_failed=True).exists()
