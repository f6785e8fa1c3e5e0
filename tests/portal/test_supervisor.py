"""Programs that are run together: started, started again, given up on, stopped."""

import os
import signal
import subprocess
import sys
import textwrap
from pathlib import Path

import pytest

from tests.architecture.source_tree import ROOT
from tests.brokers import wait_until

SLEEPER = "import time; print('up', flush=True); time.sleep(600)"
STUBBORN = f"import signal; signal.signal(signal.SIGTERM, signal.SIG_IGN); {SLEEPER}"
FAILING = "raise SystemExit('no such table')"


class Supervised:
    """A supervisor in a process of its own, over small programs."""

    def __init__(self, folder, programs):
        self.folder = folder
        self.log = folder / "said"
        code = f"""
            import pathlib, sys
            from portal import supervisor
            supervisor.GRACE_S = 2
            programs = [supervisor.Program(name, [sys.executable, "-c", code]) for name, code in {programs!r}]
            folder = pathlib.Path({str(folder)!r})
            say = lambda line: print(line, flush=True)
            pids = lambda: (folder / "pids").write_text(" ".join(str(p.process.pid) for p in programs)) > 0
            sys.exit(supervisor.Supervisor(programs, log_folder=folder, folder=folder, say=say).run(pids))
        """
        with self.log.open("wb") as log:
            self.process = subprocess.Popen(
                [sys.executable, "-c", textwrap.dedent(code)], cwd=ROOT, stdout=log, stderr=subprocess.STDOUT
            )

    @property
    def said(self):
        return self.log.read_text()

    def pids(self):
        path = self.folder / "pids"
        # It is there, and empty, a moment before it is written.
        wait_until(lambda: path.exists() and path.read_text(), what="the programs to start")
        return [int(pid) for pid in path.read_text().split()]

    def wait_for_log(self, name, word):
        path = self.folder / f"{name}.log"
        wait_until(lambda: path.exists() and word in path.read_text(), what=f"{word} in {path}")


def is_alive(pid):
    try:
        state = Path(f"/proc/{pid}/stat").read_text().rsplit(")", 1)[1].split()[0]
    except (FileNotFoundError, ProcessLookupError):
        return False
    return state != "Z"


@pytest.fixture
def supervise(tmp_path):
    started = []

    def _supervise(*programs):
        started.append(Supervised(tmp_path, programs))
        return started[-1]

    yield _supervise
    for supervised in started:
        supervised.process.kill()
        supervised.process.wait()


@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM, signal.SIGHUP])
def test_a_signal_stops_every_program(supervise, number):
    supervised = supervise(("one", SLEEPER), ("two", SLEEPER))
    pids = supervised.pids()

    supervised.process.send_signal(number)

    assert supervised.process.wait(timeout=15) == 0
    assert not any(is_alive(pid) for pid in pids)
    assert supervised.said.endswith("Stopping …\nStopped.\n")


def test_a_program_that_does_not_stop_is_ended_after_the_grace(supervise):
    supervised = supervise(("stubborn", STUBBORN))
    (pid,) = supervised.pids()
    supervised.wait_for_log("stubborn", "up")

    supervised.process.send_signal(signal.SIGTERM)

    assert supervised.process.wait(timeout=15) == 0
    assert not is_alive(pid)


def test_a_program_that_is_killed_is_started_again(supervise):
    supervised = supervise(("one", SLEEPER))
    (pid,) = supervised.pids()
    supervised.wait_for_log("one", "up")

    os.kill(pid, signal.SIGKILL)

    supervised.wait_for_log("one", "up\nup")
    assert "The one ended (exit code -9); starting it again." in supervised.said
    assert supervised.process.poll() is None


def test_a_program_that_keeps_ending_stops_everything_and_shows_why(supervise):
    supervised = supervise(("healthy", SLEEPER), ("broken", FAILING))
    pids = supervised.pids()

    assert supervised.process.wait(timeout=30) == 1
    assert "The broken ended 5 times; stopping everything. Its log:" in supervised.said
    assert "    no such table" in supervised.said
    assert not is_alive(pids[0])


@pytest.mark.skipif(sys.platform != "linux", reason="the kernel's help is Linux's own")
def test_the_programs_end_with_a_supervisor_that_is_killed(supervise):
    supervised = supervise(("one", SLEEPER))
    (pid,) = supervised.pids()

    supervised.process.kill()

    wait_until(lambda: not is_alive(pid), timeout_s=10, what="the program to end")
