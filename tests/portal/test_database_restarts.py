"""The database restarted under load: requests fail cleanly, the next try works, and nothing is half saved."""

import datetime
import os
import random
import subprocess
import sys
import threading
import time
import uuid
from dataclasses import dataclass, field

import psycopg
import pytest

from portal.demo.firm import read_firm
from tests.brokers import ROOT
from tests.clusters import OwnPostgres, has_postgresql
from tests.web_server import Answer, Person, WebServer

RESTARTS = 10
WRITERS = 4
READERS = 2
BETWEEN_S = (3, 6)
PAUSE_S = 0.1
EXCUSE = "The records can’t be reached at the moment"


@dataclass
class Load:
    """What people do at once, and what they were answered: (begun, ended, answer)."""

    answers: list[tuple[float, float, Answer]] = field(default_factory=list)
    filed: list[str] = field(default_factory=list)
    troubles: list[str] = field(default_factory=list)
    is_over: threading.Event = field(default_factory=threading.Event)

    def ask(self, send, *words) -> Answer:
        begun = time.monotonic()
        answer = send(*words)
        self.answers.append((begun, time.monotonic(), answer))
        if answer.status == 503:
            time.sleep(PAUSE_S)
        if answer.status not in {200, 302} and (answer.status != 503 or EXCUSE not in answer.text):
            self.troubles.append(f"{words[0]}: {answer.status} {answer.text[:2000]}")
        return answer

    def read(self, person: Person) -> None:
        while not self.is_over.is_set():
            self.ask(person.get, "/board/")

    def write(self, person: Person, appliance: int, today: datetime.date) -> None:
        """File visits of day after day; each is sent until it is taken, as it stands."""
        path = f"/appliances/{appliance}/events/add/"
        on = today - datetime.timedelta(days=300)
        while not self.is_over.is_set():
            page = self.ask(person.get, path)
            if page.status == 503:
                continue
            on += datetime.timedelta(days=1)
            visit = page.form | _visit(on)
            while (answer := self.ask(person.post, path, visit)).status == 503:
                pass
            if answer.status == 302:
                self.filed.append(visit["submission_id"])
            else:
                self.troubles.append(f"{answer.status} {answer.text}")


def _visit(on: datetime.date) -> dict[str, object]:
    return {
        "submission_id": str(uuid.uuid4()),
        "happened_on": on.isoformat(),
        "origin": "other_contractor",
        "contractor_name": "Bellweather Refrigeration",
        "technician": "",
        "work_kinds": ["service"],
        "work_done": "Topped up.",
        "is_separate_visit": "on",
        "transfers-0-direction": "in",
        "transfers-0-mass_value": "0.1",
        "transfers-0-mass_unit": "lb",
        "transfers-0-reason": "service",
    }


def _manage(environment, *words):
    done = subprocess.run(
        [sys.executable, "manage.py", *words],
        cwd=ROOT,
        env=environment,
        capture_output=True,
        text=True,
        check=False,
        timeout=300,
    )
    assert done.returncode == 0, done.stderr
    return done.stdout


@pytest.mark.proof
@pytest.mark.skipif(not has_postgresql(), reason="no PostgreSQL of our own can be run here")
@pytest.mark.parametrize("seed", [1])
def test_nothing_is_half_saved_and_the_next_try_works(tmp_path, seed):
    source = random.Random(seed)
    today = datetime.datetime.now(datetime.UTC).date()
    load = Load()
    with OwnPostgres() as database:
        environment = {name: value for name, value in os.environ.items() if name != "REDIS_URL"} | {
            "DATABASE_URL": database.url,
            "DATA_DIR": str(tmp_path / "data"),
            "DJANGO_SETTINGS_MODULE": "portal.settings",
        }
        _manage(environment, "migrate", "--verbosity", "0")
        _manage(environment, "collectstatic", "--noinput", "--verbosity", "0")
        _manage(environment, "load_demo_firm")
        options = ("--workers", "2", "--threads", "4")
        with WebServer(environment, tmp_path / "web.log", *options) as web:
            jobs = [threading.Thread(target=load.read, args=(_person(web),)) for _ in range(READERS)]
            jobs += [
                threading.Thread(target=load.write, args=(_person(web), pk, today))
                for pk in _appliances(database.url)
            ]
            for job in jobs:
                job.start()
            restarts = []
            for _ in range(RESTARTS):
                time.sleep(source.uniform(*BETWEEN_S))
                begun = time.monotonic()
                database.restart_at_once()
                restarts.append((begun, time.monotonic()))
            time.sleep(max(BETWEEN_S))
            load.is_over.set()
            for job in jobs:
                job.join(timeout=60)

        assert load.troubles == []
        refused = [(begun, ended) for begun, ended, answer in load.answers if answer.status == 503]
        # Only what was under way, or begun, while the database was away.
        assert all(any(begun < up and ended > down for down, up in restarts) for begun, ended in refused)
        assert _manage(environment, "verify_records")
        _check_filed(database.url, load.filed)
        sys.stdout.write(
            f"\n{RESTARTS} restarts, {len(load.answers)} answers, {len(refused)} of them 503, {len(load.filed)} filed"
        )
        assert refused
        assert load.filed


def _person(web: WebServer) -> Person:
    firm = read_firm(datetime.datetime.now(datetime.UTC).date())
    technician = next(user["email"] for user in firm.data["users"] if user["role"] == "technician")
    person = Person(web.port)
    person.sign_in(technician, firm.password)
    return person


def _appliances(url: str) -> list[int]:
    """Appliances of the United States in service."""
    with psycopg.connect(url) as connection:
        rows = connection.execute(
            "SELECT a.id FROM jobs_appliance a JOIN jobs_site s ON s.id = a.site_id "
            "WHERE s.jurisdiction LIKE 'us%%' AND a.full_charge_mg > 20000000 ORDER BY a.id LIMIT %s",
            [WRITERS],
        )
        return [pk for (pk,) in rows]


def _check_filed(url: str, submissions: list[str]) -> None:
    """Each visit that was taken is there once and whole, and none is there that wasn't taken."""
    with psycopg.connect(url) as connection:
        rows = connection.execute(
            "SELECT e.submission_id::text, count(t.id) FROM jobs_serviceevent e "
            "LEFT JOIN jobs_transfer t ON t.event_id = e.id WHERE e.contractor_name = 'Bellweather Refrigeration' "
            "GROUP BY e.submission_id"
        ).fetchall()
    assert dict(rows) == dict.fromkeys(submissions, 1)
