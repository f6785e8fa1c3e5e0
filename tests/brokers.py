"""Message brokers for tests, with real worker processes on them that can be killed."""

import contextlib
import os
import shutil
import signal
import socket
import subprocess
import sys
import time
import uuid
from abc import ABC, abstractmethod
from collections.abc import Callable
from pathlib import Path
from urllib.parse import quote

import redis
from celery import Celery
from django.conf import settings
from django.db import connection

from portal.broker import folder_broker
from tests.nursery import Nursery

ROOT = Path(__file__).resolve().parent.parent
START_TIMEOUT_S = 60
REDIS_URL = os.environ.get("TEST_REDIS_URL", "redis://127.0.0.1:6379/15")


def wait_until(
    condition: Callable[[], bool], *, timeout_s: float = 30, what: str | Callable[[], str] = "the condition"
) -> None:
    """Return as soon as ``condition`` holds; fail after ``timeout_s`` seconds, naming ``what``."""
    give_up_at = time.monotonic() + timeout_s
    while not condition():
        if time.monotonic() > give_up_at:
            message = f"waited {timeout_s} s in vain for {what() if callable(what) else what}"
            raise AssertionError(message)
        time.sleep(0.05)


class WorkerProcess:
    """One celery worker with its pool, in a process group of its own."""

    def __init__(self, environment: dict[str, str], log: Path, concurrency: int) -> None:
        """Start the worker and return when it takes messages."""
        command = [sys.executable, "-m", "celery", "-A", "portal", "worker", "--loglevel", "INFO"]
        options = ["--concurrency", str(concurrency), "--without-gossip", "--without-mingle"]
        self.log_path = log
        with log.open("wb") as output:
            self.process = subprocess.Popen(
                [*command, *options, "--hostname", f"{uuid.uuid4().hex[:8]}@test"],
                cwd=ROOT,
                env=environment,
                stdout=output,
                stderr=subprocess.STDOUT,
                start_new_session=True,
            )
        wait_until(self._is_ready, timeout_s=START_TIMEOUT_S, what=f"the worker to start; see {log}")

    def _is_ready(self) -> bool:
        if self.process.poll() is not None:
            raise AssertionError("the worker ended at its start:\n" + self.log)
        return " ready." in self.log

    @property
    def log(self) -> str:
        """What the worker has said so far."""
        return self.log_path.read_text(errors="replace")

    def kill(self) -> None:
        """End the worker and its pool at once with SIGKILL, as a power cut would."""
        with contextlib.suppress(ProcessLookupError):
            os.killpg(self.process.pid, signal.SIGKILL)
        self.process.wait(timeout=10)


class TestBroker(ABC):
    """A broker of one test. Its workers use the test's database, data folder and mailbox."""

    __test__ = False

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.workers: list[WorkerProcess] = []
        self.nurseries: list[Nursery] = []

    @abstractmethod
    def environment(self) -> dict[str, str]:
        """Name the environment variables that lead a worker to this broker."""

    @abstractmethod
    def configuration(self) -> dict[str, object]:
        """Name the celery settings that lead the test itself to this broker."""

    @abstractmethod
    def clear(self) -> None:
        """Remove what lies in the broker."""

    def send(self, task_name: str, *args: object) -> None:
        """Put a message for the task ``task_name`` into the broker."""
        app = Celery("test", set_as_current=False)
        app.conf.update(**self.configuration(), task_ignore_result=True)
        app.send_task(task_name, args=args)

    def start_worker(self, *, concurrency: int = 1, **environment: str) -> WorkerProcess:
        """Start a worker process; it ends with the test."""
        log = self.folder / f"worker-{len(self.workers)}.log"
        worker = WorkerProcess(self.process_environment(**environment), log, concurrency)
        self.workers.append(worker)
        return worker

    def start_nursery(self, **environment: str) -> Nursery:
        """Start what starts many workers, each at once; it ends with the test."""
        nursery = Nursery(self.process_environment(**environment), self.folder)
        self.nurseries.append(nursery)
        return nursery

    def process_environment(self, **environment: str) -> dict[str, str]:
        """All environment variables of a program that uses this broker, and the test's database and data folder."""
        return {**_shell(), "DATABASE_URL": database_url(), **self.environment(), **environment}

    def empty(self) -> None:
        """Lose every message, while workers run."""
        self.clear()

    def close(self) -> None:
        """End the workers and leave nothing behind."""
        for program in (*self.workers, *self.nurseries):
            program.kill()
        self.clear()


class FolderBroker(TestBroker):
    """The embedded default's broker, below the tests' data folder."""

    def environment(self) -> dict[str, str]:
        return {"REDIS_URL": ""}

    def configuration(self) -> dict[str, object]:
        address, options = folder_broker(settings.CELERY_BROKER_DIR)
        return {"broker_url": address, "broker_transport_options": options}

    def clear(self) -> None:
        shutil.rmtree(settings.CELERY_BROKER_DIR, ignore_errors=True)
        # The portal's own application made the folders when it began, and goes on sending.
        folder_broker(settings.CELERY_BROKER_DIR)

    def empty(self) -> None:
        for message in settings.CELERY_BROKER_DIR.glob("*/*.msg"):
            message.unlink(missing_ok=True)


class RedisBroker(TestBroker):
    """A real Redis; every key carries a prefix of this test's own."""

    def __init__(self, folder: Path, url: str = REDIS_URL) -> None:
        super().__init__(folder)
        self.url = url
        self.prefix = f"test-{uuid.uuid4().hex}:"
        self.redis = redis.Redis.from_url(url, socket_connect_timeout=2)

    def environment(self) -> dict[str, str]:
        return {"REDIS_URL": self.url, "REDIS_KEY_PREFIX": self.prefix}

    def configuration(self) -> dict[str, object]:
        return {"broker_url": self.url, "broker_transport_options": {"global_keyprefix": self.prefix}}

    def clear(self) -> None:
        for key in self.redis.scan_iter(match=f"{self.prefix}*"):
            self.redis.delete(key)


class OwnRedisBroker(RedisBroker):
    """A Redis that is this test's alone: it may be stopped, made to stand still, and begun anew with nothing in it."""

    def __init__(self, folder: Path) -> None:
        self.port = free_port()
        super().__init__(folder, f"redis://127.0.0.1:{self.port}/0")
        self.start()

    def stand_still(self, *, is_still: bool) -> None:
        """Have the server take connections and answer nothing, or go on."""
        self.server.send_signal(signal.SIGSTOP if is_still else signal.SIGCONT)

    def start(self) -> None:
        """Start the server with nothing in it."""
        keeps_nothing = ("--save", "", "--appendonly", "no", "--dir", str(self.folder))
        command = ["redis-server", "--bind", "127.0.0.1", "--port", str(self.port), *keeps_nothing]
        self.server = subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.STDOUT)
        wait_until(self._answers, what="Redis")

    def stop(self) -> None:
        """End the server at once."""
        self.server.kill()
        self.server.wait(timeout=10)

    def empty(self) -> None:
        self.stop()
        self.start()

    def close(self) -> None:
        super().close()
        self.stop()

    def clear(self) -> None:
        """Nothing outlives the server."""

    def _answers(self) -> bool:
        with contextlib.suppress(redis.ConnectionError):
            return bool(self.redis.ping())
        return False


def free_port() -> int:
    """Return the number of a port where nobody listens."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


def database_url() -> str:
    """Return the address of the database that the test itself is using."""
    database = connection.settings_dict
    if connection.vendor == "sqlite":
        return f"sqlite:///{database['NAME']}"
    user = quote(database["USER"], safe="")
    password = f":{quote(database['PASSWORD'], safe='')}" if database["PASSWORD"] else ""
    port = f":{database['PORT']}" if database["PORT"] else ""
    return f"postgres://{user}{password}@{quote(database['HOST'], safe='')}{port}/{database['NAME']}"


def _shell() -> dict[str, str]:
    return {
        **os.environ,
        "DJANGO_SETTINGS_MODULE": "portal.settings",
        "DATA_DIR": str(settings.DATA_DIR),
        "SECRET_KEY": settings.SECRET_KEY,
    }
