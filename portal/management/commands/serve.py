"""``manage.py serve``: the web server, the task worker and the scheduler on one machine."""

import fcntl
import http.client
import os
import socket
import sys
import time
from argparse import ArgumentParser
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from portal.accounts.models import Role
from portal.demo.firm import read_firm
from portal.supervisor import Program, Supervisor

START_TIMEOUT_S = 90
PORT_MAX = 65_535


class Command(BaseCommand):
    """Supervises the portal's three programs until Ctrl-C."""

    help = (
        "Run the web server, the task worker and the scheduler together and stop them together (Ctrl-C). "
        "Logs go to the data folder. For one machine; see README.md for a server."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--host", default="127.0.0.1", help="address to listen on (127.0.0.1)")
        parser.add_argument("--port", default="8000", help="port to listen on (8000)")
        parser.add_argument(
            "--show-demo-sign-ins", action="store_true", help="print the demo firm's sign-ins"
        )

    def handle(self, **options: Any) -> None:
        host, port = options["host"], _port(options["port"])
        with _only_server_of_data_folder():
            _refuse_busy_port(host, port)
            supervisor = Supervisor(
                _programs(host, port),
                log_folder=settings.DATA_DIR / "log",
                folder=settings.BASE_DIR,
                say=self._say,
            )
            greeting = _Greeting(host, port, self._say, shows_sign_ins=options["show_demo_sign_ins"])
            code = supervisor.run(greeting.try_to_greet)
        if code:
            sys.exit(code)

    def _say(self, line: str) -> None:
        self.stdout.write(line)
        self.stdout.flush()


class _Greeting:
    """Tells where the portal is, once it answers."""

    def __init__(self, host: str, port: int, say: Any, *, shows_sign_ins: bool) -> None:
        self.host, self.port, self.say, self.shows_sign_ins = host, port, say, shows_sign_ins
        self.give_up_at = time.monotonic() + START_TIMEOUT_S

    def try_to_greet(self) -> bool:
        """Say where the portal is if it answers; answer whether there is nothing more to wait for."""
        if not _answers(self.host, self.port):
            is_too_late = time.monotonic() > self.give_up_at
            if is_too_late:
                self.say(f"The portal doesn't answer yet; see {settings.DATA_DIR / 'log' / 'web-server.log'}")
            return is_too_late
        for line in self._lines():
            self.say(line)
        return True

    def _lines(self) -> Iterator[str]:
        yield ""
        yield f"  The portal is ready:  http://{self.host}:{self.port}"
        if self.shows_sign_ins:
            firm = read_firm(timezone.localdate())
            yield ""
            yield "  Sign in as"
            for role in Role:
                user = next(user for user in firm.data["users"] if user["role"] == role)
                yield f"    {role.label:<20} {user['email']:<40} {firm.password}"
        yield ""
        yield f"  Data and logs are in {settings.DATA_DIR}. Ctrl-C stops everything."
        yield ""


def _port(text: str) -> int:
    if not text.isdecimal() or not 0 < int(text) <= PORT_MAX:
        message = f"port: {text!r} was given, a whole number from 1 to {PORT_MAX} is expected"
        raise CommandError(message)
    return int(text)


def _programs(host: str, port: int) -> list[Program]:
    # One process on SQLite, which lets one write at a time anyhow.
    web_workers = "1" if settings.IS_EMBEDDED_DATABASE else "2"
    python = [sys.executable, "-m"]
    celery = [*python, "celery", "-A", "portal"]
    gunicorn = [*python, "gunicorn", "portal.wsgi", "--bind", f"{host}:{port}", "--no-control-socket"]
    return [
        Program("web server", [*gunicorn, "--workers", web_workers, "--threads", "4", "--timeout", "60"]),
        # The folder broker keeps no list of the programs on it; the scheduler's own lock is the one above.
        Program("scheduler", [*celery, "beat", "--pidfile", ""]),
        Program(
            "task worker",
            [*celery, "worker", "--concurrency", "1", "--without-gossip", "--without-mingle"],
        ),
    ]


@contextmanager
def _only_server_of_data_folder() -> Iterator[None]:
    """Hold the data folder: two schedulers on one folder would send everything twice."""
    with (settings.DATA_DIR / "serve.lock").open("a+") as lock:
        try:
            fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            lock.seek(0)
            message = (
                f"The portal is being served from {settings.DATA_DIR} already, by process {lock.read().strip()}. "
                "Stop that one first, or give this one a folder of its own with DATA_DIR=…"
            )
            raise CommandError(message) from None
        lock.truncate(0)
        lock.write(str(os.getpid()))
        lock.flush()
        yield


def _refuse_busy_port(host: str, port: int) -> None:
    with socket.socket() as probe:
        probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            probe.bind((host, port))
        except OSError as error:
            message = (
                f"Port {port} on {host} can't be used: {error.strerror}. "
                f"Choose another one: make demo PORT={port % PORT_MAX + 1}"
            )
            raise CommandError(message) from error


def _answers(host: str, port: int) -> bool:
    connection = http.client.HTTPConnection(host, port, timeout=2)
    try:
        connection.request("GET", "/healthz")
        connection.getresponse()
    except (OSError, http.client.HTTPException):
        return False
    finally:
        connection.close()
    return True
