"""Runs the portal's programs together on one machine, and stops them together.

A program that ends is started again; one that keeps ending stops everything, with the end of
its log on the screen. No Django here: the command portal/management/commands/serve.py wires it.
"""

import contextlib
import ctypes
import os
import shutil
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from pathlib import Path

GRACE_S = 20
POLL_S = 0.25
RESTARTS_MAX = 5
RESTARTS_WINDOW_S = 120
LOG_BYTES_MAX = 5_000_000
LOG_LINES_SHOWN = 15
PR_SET_PDEATHSIG = 1


@dataclass
class Program:
    """One program to keep running: its name for people, and its command line."""

    name: str
    command: Sequence[str]
    process: subprocess.Popen[bytes] | None = None
    ended_at: list[float] = field(default_factory=list)

    @property
    def is_running(self) -> bool:
        """Say whether the program runs at this moment."""
        return self.process is not None and self.process.poll() is None

    def send(self, number: signal.Signals) -> None:
        """Send a signal to the program and to all that it started."""
        if self.process is not None:
            with contextlib.suppress(ProcessLookupError):
                os.killpg(self.process.pid, number)


class Supervisor:
    """Starts programs in the order given and stops them in the same order.

    Args:
        programs: what to run.
        log_folder: holds one log for each program.
        folder: the folder the programs run in.
        say: takes a line for the person at the terminal.
    """

    def __init__(
        self, programs: Sequence[Program], *, log_folder: Path, folder: Path, say: Callable[[str], None]
    ) -> None:
        self.programs = programs
        self.log_folder = log_folder
        self.folder = folder
        self.say = say
        self.stop_requests = 0

    def run(self, when_started: Callable[[], bool]) -> int:
        """Run until told to stop by a signal (answer 0) or by a program that keeps ending (answer 1).

        Args:
            when_started: called again and again until it answers True, once all programs were started.
        """
        for number in (signal.SIGINT, signal.SIGTERM, signal.SIGHUP):
            signal.signal(number, self._request_stop)
        self.log_folder.mkdir(parents=True, exist_ok=True)
        try:
            for program in self.programs:
                self._start(program)
            return self._watch(when_started)
        finally:
            self._stop_all()

    def log_path(self, program: Program) -> Path:
        """Return where the program's output goes."""
        return self.log_folder / f"{program.name.replace(' ', '-')}.log"

    def _request_stop(self, number: int, frame: object) -> None:
        self.stop_requests += 1

    def _start(self, program: Program) -> None:
        with self.log_path(program).open("ab") as log:
            program.process = subprocess.Popen(  # noqa: S603 -- the command is the caller's own
                program.command,
                cwd=self.folder,
                stdin=subprocess.DEVNULL,
                stdout=log,
                stderr=subprocess.STDOUT,
                # Ctrl-C reaches the supervisor alone, which then stops the programs in order.
                start_new_session=True,
                preexec_fn=_end_with_parent,  # noqa: PLW1509 -- the supervisor has one thread
            )

    def _watch(self, when_started: Callable[[], bool]) -> int:
        has_started = False
        while not self.stop_requests:
            for program in self.programs:
                if not program.is_running and not self._revive(program):
                    return 1
                self._trim_log(program)
            has_started = has_started or when_started()
            time.sleep(POLL_S)
        return 0

    def _revive(self, program: Program) -> bool:
        """Start an ended program again; answer False when it has ended too often."""
        now = time.monotonic()
        program.ended_at = [at for at in program.ended_at if at > now - RESTARTS_WINDOW_S] + [now]
        code = program.process.returncode if program.process else None
        if len(program.ended_at) >= RESTARTS_MAX:
            self.say(f"The {program.name} ended {len(program.ended_at)} times; stopping everything. Its log:")
            lines = self.log_path(program).read_text(errors="replace").splitlines()
            for line in lines[-LOG_LINES_SHOWN:]:
                self.say(f"    {line}")
            return False
        self.say(f"The {program.name} ended (exit code {code}); starting it again.")
        program.send(signal.SIGKILL)
        self._start(program)
        return True

    def _trim_log(self, program: Program) -> None:
        """Begin a log anew that has grown too long; the program writes on at its end."""
        path = self.log_path(program)
        if path.stat().st_size > LOG_BYTES_MAX:
            shutil.copyfile(path, path.with_suffix(".log.old"))
            os.truncate(path, 0)

    def _stop_all(self) -> None:
        self.say("Stopping …")
        for program in self.programs:
            if program.is_running and program.process is not None:
                program.process.terminate()
        requests_before = self.stop_requests
        give_up_at = time.monotonic() + GRACE_S
        while any(program.is_running for program in self.programs):
            # A second Ctrl-C means: at once.
            if time.monotonic() > give_up_at or self.stop_requests > max(requests_before, 1):
                break
            time.sleep(POLL_S / 5)
        for program in self.programs:
            program.send(signal.SIGKILL)
            if program.process is not None:
                program.process.wait()
        self.say("Stopped.")


def _end_with_parent() -> None:
    """Have the kernel end this program when the supervisor dies without stopping it (Linux only)."""
    if sys.platform == "linux":
        ctypes.CDLL(None).prctl(PR_SET_PDEATHSIG, signal.SIGTERM)
