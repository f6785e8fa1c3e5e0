"""Exactly one reminder for each obligation, milestone, recipient and channel, though workers are killed at every step.

What SMTP leaves undecidable, whether a text without an answer was taken (RFC 1047), is recorded with the reminder.
"""

import random
import sys

import pytest

from tests.compliance.killing import Ordeal, plan
from tests.compliance.mail_server import MailServer, fails_half_the_time
from tests.nursery.kill_points import DIGEST_STEPS, PROCESS, STEPS, WORKER

SAMPLE = ("rows being raised", "text sent", "digest written")
TIMES = 10
BEATS_AFTER = 20
EMPTY_AFTER = 25


def test_a_few_kills(broker):
    source = random.Random(1)
    with MailServer(fault=fails_half_the_time(source)) as server:
        ordeal = Ordeal(broker, server, workers=1)
        for step in SAMPLE:
            ordeal.kill_at(step, PROCESS if step == SAMPLE[0] else WORKER)
        ordeal.drain()

        ordeal.check()


@pytest.mark.proof
@pytest.mark.parametrize("seed", [1])
@pytest.mark.parametrize("kind", ["folder", pytest.param("redis", marks=pytest.mark.redis)])
def test_two_hundred_kills(request, kind, seed, transactional_db):
    """Four workers, two schedulers, a broker that loses everything, a mail server that fails half the time."""
    broker = request.getfixturevalue("folder_broker" if kind == "folder" else "own_redis_broker")
    source = random.Random(seed)
    with MailServer(seconds_to_answer=0.02, fault=fails_half_the_time(source)) as server:
        ordeal = Ordeal(broker, server, workers=4)
        for number, step in enumerate(plan((*STEPS, *DIGEST_STEPS), TIMES, source)):
            if number % BEATS_AFTER == 0:
                ordeal.use_beats(2)
            if number % EMPTY_AFTER == EMPTY_AFTER - 1:
                broker.empty()
            ordeal.kill_at(step, source.choice([PROCESS, WORKER]))
        ordeal.drain()

        sys.stdout.write(f"\n{kind}: {ordeal.check()}")
    assert sum(ordeal.kills.values()) >= 200
