"""Real workers and schedulers of celery that start at once: forked from a process that has everything imported.

They are as any other, in a process group of their own each, but for the steps at which they can be killed.
"""

import contextlib
import json
import os
import signal
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent.parent


class Program:
    """One worker or scheduler."""

    def __init__(self, pid: int, log: Path) -> None:
        self.pid = pid
        self.log_path = log

    @property
    def log(self) -> str:
        """What it has said so far."""
        return self.log_path.read_text(errors="replace")

    @property
    def is_ready(self) -> bool:
        """Whether a worker takes messages."""
        return " ready." in self.log

    @property
    def is_alive(self) -> bool:
        """Whether it runs."""
        try:
            os.kill(self.pid, 0)
        except ProcessLookupError:
            return False
        return True

    def kill(self) -> None:
        """End it and all that it started, at once."""
        with contextlib.suppress(ProcessLookupError):
            os.killpg(self.pid, signal.SIGKILL)


class Nursery:
    """Starts programs; they end with it.

    Args:
        environment: of all its programs.
        folder: keeps their logs, and the files by which steps are armed.
    """

    def __init__(self, environment: dict[str, str], folder: Path) -> None:
        self.folder = folder
        self.programs: list[Program] = []
        self.process = subprocess.Popen(
            [sys.executable, "-m", "tests.nursery.process", str(folder)],
            cwd=ROOT,
            env=environment,
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
            bufsize=1,
        )

    def start(self, *words: str) -> Program:
        """Start ``celery WORDS`` and return at once."""
        log = self.folder / f"{words[0]}-{len(self.programs)}.log"
        log.touch()
        assert self.process.stdin
        assert self.process.stdout
        self.process.stdin.write(json.dumps([str(log), *words]) + "\n")
        program = Program(int(self.process.stdout.readline()), log)
        self.programs.append(program)
        return program

    def start_worker(self, concurrency: int = 1) -> Program:
        """Start a worker with its pool."""
        name = f"{len(self.programs)}@test"
        quiet = ("--without-gossip", "--without-mingle", "--loglevel", "INFO")
        return self.start("worker", "--concurrency", str(concurrency), "--hostname", name, *quiet)

    def start_beat(self) -> Program:
        """Start a scheduler with a memory of its own."""
        memory = self.folder / f"schedule-{len(self.programs)}"
        return self.start("beat", "--pidfile", "", "--schedule", str(memory), "--loglevel", "INFO")

    def kill(self) -> None:
        """End it with all its programs, at once."""
        for program in self.programs:
            program.kill()
        self.process.kill()
        self.process.wait(timeout=10)
