"""The process that workers and schedulers are forked from; see :class:`tests.nursery.Nursery`."""

import contextlib
import json
import os
import signal
import sys
from collections.abc import Sequence
from importlib import import_module
from pathlib import Path

# What a worker or a scheduler imports at its start.
import django

from portal.celery import app


def serve(folder: Path) -> None:
    """Start what is asked for on standard input, line by line."""
    django.setup()
    import_module("tests.nursery.steps").put_steps(folder)
    signal.signal(signal.SIGCHLD, _bury)
    for line in sys.stdin:
        log, *words = json.loads(line)
        pid = os.fork()
        if not pid:
            _become(Path(log), words)
        sys.stdout.write(f"{pid}\n")
        sys.stdout.flush()


def _bury(*_: object) -> None:
    with contextlib.suppress(ChildProcessError):
        while os.waitpid(-1, os.WNOHANG)[0]:
            pass


def _become(log: Path, words: Sequence[str]) -> None:
    os.setsid()
    signal.signal(signal.SIGCHLD, signal.SIG_DFL)
    os.dup2(os.open(os.devnull, os.O_RDONLY), 0)
    output = os.open(log, os.O_WRONLY | os.O_CREAT | os.O_APPEND, 0o644)
    os.dup2(output, 1)
    os.dup2(output, 2)
    code = 1
    try:
        app.start(words)
        code = 0
    finally:
        os._exit(code)


if __name__ == "__main__":
    serve(Path(sys.argv[1]))
