"""A firm that owes more and more, while the workers that remind it are killed and the mail server fails."""

import datetime
import random
import time
from collections import Counter
from pathlib import Path

from django.db.models import F, Model

from compliance.models import Reminder, ReminderDigest, ReminderPreference
from compliance.services.outbox import CLAIM_LASTS
from compliance.services.reminders import digests, reminder_retry, sending
from jobs.models import Appliance
from portal.accounts.models import Role, User
from tests import people
from tests.brokers import TestBroker, wait_until
from tests.compliance.firm import (
    AGREED,
    add_appliance,
    add_customer,
    add_site,
    add_technician,
    over_the_threshold,
)
from tests.compliance.mail_server import UNDECIDABLE, MailServer
from tests.nursery import Program
from tests.nursery.kill_points import DIGEST_STEPS, UNDECIDABLE_STEPS, WORKER, arm, held

RAISE = "compliance.tasks.raise_reminders"
SEND = "compliance.tasks.send_reminders"
# What 12 % of a full charge starts (40 CFR 84.106(d) and (e)), both due within a week.
OWED = ("repair", "initial_verification_test")
CONTACT = "contact@larkspur.example"
NUDGE_S = 1


class Ordeal:
    """Owes, raises, sends and kills, step by step; at the end counts what the mail server took.

    Args:
        broker: carries the messages.
        server: the mail server; it may fail.
        workers: how many there are at any time.
    """

    def __init__(self, broker: TestBroker, server: MailServer, workers: int) -> None:
        self.broker = broker
        self.server = server
        self.folder: Path = broker.folder
        self.nursery = broker.start_nursery(EMAIL_URL=server.url)
        self.workers = [self.nursery.start_worker() for _ in range(workers)]
        self.beats: list[Program] = []
        self.kills: Counter[str] = Counter()
        self.digest_users: dict[int, User] = {}
        now = datetime.datetime.now(datetime.UTC)
        # Where it is about noon, so that it is nobody's night and no date changes.
        self.zone = f"Etc/GMT{now.hour - 12:+d}" if now.hour != 12 else "Etc/GMT"
        self.started_on = now.date() - datetime.timedelta(days=25)
        self.admin = people.office_admin()
        self.officer = people.officer()
        customer = add_customer(self.admin, email=CONTACT, contact_name="Ada Lark", **AGREED)
        self.site = add_site(self.admin, customer, time_zone=self.zone)
        self.technician = add_technician(self.admin, people.technician_user())
        self.appliances: list[Appliance] = []
        # What a digest that was given up had left undecided, by the reminders that then went out by themselves.
        self.undecided_before: Counter[int] = Counter()
        self.nudged_at = 0.0

    def use_beats(self, count: int) -> None:
        """Have so many schedulers at once from now on, fresh ones."""
        for beat in self.beats:
            beat.kill()
        self.beats = [self.nursery.start_beat() for _ in range(count)]

    def owe(self, *, is_digest: bool = False) -> Appliance:
        """Bring one more appliance over the threshold; its technician may be one who gets a digest."""
        number = len(self.appliances)
        technician = self.technician
        if is_digest:
            name = f"Digest Reader {number}"
            technician = add_technician(self.admin, people._user(name, Role.TECHNICIAN), name)
            hour = {"digest_hour": 8, "time_zone": self.zone}
            ReminderPreference.objects.create(user=technician.user, rhythm="digest", **hour)
        appliance = add_appliance(self.admin, f"Chiller {number}", site=self.site, technician=technician)
        if is_digest:
            self.digest_users[appliance.pk] = technician.user
        over_the_threshold(self.admin, appliance, self.started_on.isoformat())
        self.appliances.append(appliance)
        return appliance

    def kill_at(self, step: str, what: str) -> None:
        """Have a worker killed at a step of the reminders of one more appliance, and begin anew after it."""
        if step in DIGEST_STEPS:
            appliance = self.owe(is_digest=True)
            own = Reminder.objects.filter(user=self.digest_users[appliance.pk], channel="email")
            self.broker.send(RAISE)
            wait_until(lambda: self._nudged() and own.count() == len(OWED), what="the digest's reminders")
            arm(self.folder, step, what)
            # As if they had been raised yesterday: the digest of this morning takes them.
            own.update(raised_at=F("raised_at") - datetime.timedelta(days=1))
        else:
            arm(self.folder, step, what)
            self.owe()
        self.nudge()
        claimed: list[str] = []
        wait_until(lambda: self._nudged() and self._was_reached(step, claimed), timeout_s=90, what=step)
        self.kills[step] += 1
        if what == WORKER:
            wait_until(lambda: any(not worker.is_alive for worker in self.workers), what="the worker's end")
            self.workers = [worker for worker in self.workers if worker.is_alive]
            self.workers.append(self.nursery.start_worker())
        _let_claim_grow_old(claimed[0])

    def nudge(self) -> None:
        """As if the time had passed after which the tasks run again and failures are tried again."""
        self.nudged_at = time.monotonic()
        for model in (Reminder, ReminderDigest):
            model.objects.filter(state="waiting").update(next_attempt_at=None)
        self.broker.send(RAISE)
        self.broker.send(SEND)

    def drain(self) -> None:
        """Let the mail server work, have what was given up tried again, and wait until all is sent."""
        self.server.fault = lambda: None
        self.server.seconds_to_answer = 0
        emails = Reminder.objects.filter(channel="email")
        count = sum(channel == "email" for *_, channel in self._expected())
        wait_until(
            lambda: self._nudged() and self._has_retried() and emails.filter(state="sent").count() >= count,
            timeout_s=120,
            what=lambda: f"all to be sent: {Counter(emails.values_list('state', flat=True))}",
        )

    def check(self) -> str:
        """Count: every reminder is there once and was taken once, or oftener by as much as its row says is possible."""
        rows = list(Reminder.objects.select_related("digest"))
        there = Counter((row.appliance_id, _kind(row), row.recipient_email, row.channel) for row in rows)
        expected = Counter(self._expected())
        assert (there - expected, expected - there) == (Counter(), Counter())
        assert {row.state for row in rows} == {"sent"}

        copies = Counter(self.server.received)
        undecided, known = 0, set()
        for message, row in _messages(rows):
            before = self.undecided_before[row.pk] if isinstance(row, Reminder) else 0
            undecided += row.undecided_count - before
            known.add(message)
            assert 1 <= copies[message] <= 1 + row.undecided_count - before, (message, copies[message], row)
        for digest in ReminderDigest.objects.filter(items=None):
            undecided += digest.undecided_count
            known.add(_digest_id(digest))
            assert copies[_digest_id(digest)] <= digest.undecided_count, (digest, copies[_digest_id(digest)])
        assert set(copies) <= known

        decided_by_nobody = sum(self.kills[step] for step in UNDECIDABLE_STEPS) + sum(
            fault in UNDECIDABLE for fault in self.server.faults
        )
        doubled = sum(copies.values()) - len(copies)
        assert doubled <= undecided <= decided_by_nobody
        return (
            f"{sum(self.kills.values())} kills at {len(self.kills)} steps, {len(self.server.faults)} faults of the "
            f"mail server, {len(copies)} messages: {undecided} attempts recorded as undecidable, {doubled} came twice"
        )

    def _expected(self) -> list[tuple[int, str, str, str]]:
        return [
            (appliance.pk, kind, email, channel)
            for appliance in self.appliances
            for kind in OWED
            for email, channels in self._people(appliance)
            for channel in channels
        ]

    def _people(self, appliance: Appliance) -> list[tuple[str, tuple[str, ...]]]:
        technician = self.digest_users.get(appliance.pk, self.technician.user)
        both = ("email", "portal")
        return [(technician.email, both), (self.officer.email, both), (CONTACT, ("email",))]

    def _nudged(self) -> bool:
        if time.monotonic() > self.nudged_at + NUDGE_S:
            self.nudge()
        return True

    def _was_reached(self, step: str, claimed: list[str]) -> bool:
        row = held(self.folder, step)
        if row is not None:
            claimed.append(row)
        return row is not None

    def _has_retried(self) -> bool:
        given_up = Reminder.objects.filter(state="failed")
        for row in given_up.exclude(digest=None):
            # Who gave up on a digest wants each by itself, and each says that the digest may have arrived.
            self.undecided_before[row.pk] = row.undecided_count
            ReminderPreference.objects.filter(user=row.user).update(rhythm="single")
        for row in given_up:
            reminder_retry(by=self.officer, reminder=row)
        return True


def _messages(rows: list[Reminder]) -> list[tuple[str, Reminder | ReminderDigest]]:
    """Each message with the row that tells of it."""
    found: dict[str, Reminder | ReminderDigest] = {}
    for row in rows:
        if row.channel != "email":
            continue
        if row.digest:
            found[_digest_id(row.digest)] = row.digest
        else:
            found[sending._message(row).extra_headers["Message-ID"]] = row
    return list(found.items())


def _digest_id(digest: ReminderDigest) -> str:
    identity = f"{digest.recipient_email} {digest.due_at.isoformat()}"
    return digests.message_headers("digest", identity)["Message-ID"]


def _kind(row: Reminder) -> str:
    return row.owed_key.split(":")[2]


def _let_claim_grow_old(claimed: str) -> None:
    """As if the time had passed after which the claim of the worker that was killed counts as abandoned."""
    if not claimed:
        return
    name, pk = claimed.split()
    model: type[Model] = {"reminder": Reminder, "reminderdigest": ReminderDigest}[name]
    model.objects.filter(pk=pk, state="sending").update(claimed_at=F("claimed_at") - CLAIM_LASTS)


def plan(steps: tuple[str, ...], times: int, source: random.Random) -> list[str]:
    """Each step so many times, in any order."""
    order = list(steps) * times
    source.shuffle(order)
    return order
