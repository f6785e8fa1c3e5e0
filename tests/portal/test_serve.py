"""``manage.py serve`` as an operator meets it, with its real web server, worker and scheduler."""

import json
import os
import signal
import socket
import subprocess
import sys
import urllib.request

import pytest

from tests.architecture.source_tree import ROOT
from tests.brokers import wait_until


def _environment(folder):
    kept = {name: value for name, value in os.environ.items() if name not in {"DATABASE_URL", "REDIS_URL"}}
    return {**kept, "DATA_DIR": str(folder), "DJANGO_SETTINGS_MODULE": "portal.settings"}


def _manage(folder, *words):
    return subprocess.run(
        [sys.executable, "manage.py", *words],
        cwd=ROOT,
        env=_environment(folder),
        capture_output=True,
        text=True,
        check=False,
        timeout=120,
    )


def _migrate(folder):
    migrated = _manage(folder, "migrate", "--verbosity", "0")
    assert migrated.returncode == 0, migrated.stderr


def _free_port():
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return probe.getsockname()[1]


@pytest.fixture(scope="module")
def served(tmp_path_factory):
    """The portal served from a folder of its own: (folder, port, process, what it said)."""
    folder = tmp_path_factory.mktemp("served")
    _migrate(folder)
    port, said = _free_port(), folder / "said"
    with said.open("wb") as output:
        process = subprocess.Popen(
            [sys.executable, "manage.py", "serve", "--port", str(port), "--show-demo-sign-ins"],
            cwd=ROOT,
            env=_environment(folder),
            stdout=output,
            stderr=subprocess.STDOUT,
        )
    wait_until(
        lambda: process.poll() is not None or "ready" in said.read_text(), timeout_s=90, what="the portal"
    )
    yield folder, port, process, said
    process.terminate()
    process.wait(timeout=40)


@pytest.fixture(scope="module")
def used_port():
    with socket.socket() as listener:
        listener.bind(("127.0.0.1", 0))
        listener.listen()
        yield listener.getsockname()[1]


def test_says_where_it_is_and_who_may_sign_in(served):
    # The roles are said line by line after the address.
    wait_until(lambda: "Ctrl-C" in served[3].read_text(), timeout_s=20, what="the whole greeting")
    said = served[3].read_text()

    assert f"http://127.0.0.1:{served[1]}" in said
    for role in ("Office admin", "Technician", "Compliance officer"):
        assert role in said


def test_answers(served):
    with urllib.request.urlopen(f"http://127.0.0.1:{served[1]}/healthz", timeout=10) as answer:
        assert json.load(answer)["status"] == "ok"


def test_runs_the_sweep_at_its_start_by_scheduler_and_worker(served):
    log = served[0] / "log" / "task-worker.log"

    wait_until(
        lambda: "compliance.tasks.sweep_assessments" in log.read_text() and "succeeded" in log.read_text(),
        timeout_s=60,
        what=f"the first sweep; see {log}",
    )


def test_refuses_to_serve_a_folder_twice(served):
    refused = _manage(served[0], "serve", "--port", str(_free_port()))

    assert refused.returncode == 1
    assert f"by process {served[2].pid}" in refused.stderr
    assert "DATA_DIR" in refused.stderr


def test_names_a_port_that_is_taken_and_another_way(tmp_path, used_port):
    refused = _manage(tmp_path, "serve", "--port", str(used_port))

    assert refused.returncode == 1
    assert f"Port {used_port} on 127.0.0.1 can't be used: Address already in use." in refused.stderr
    assert f"make demo PORT={used_port + 1}" in refused.stderr


@pytest.mark.parametrize("port", ["0", "65536", "http", "-1"])
def test_refuses_what_is_no_port(tmp_path, port):
    refused = _manage(tmp_path, "serve", f"--port={port}")

    assert refused.returncode == 1
    assert f"port: '{port}' was given, a whole number from 1 to 65535 is expected" in refused.stderr


def test_stops_at_ctrl_c_and_leaves_no_program_behind(tmp_path):
    _migrate(tmp_path)
    port = _free_port()
    process = subprocess.Popen(
        [sys.executable, "manage.py", "serve", "--port", str(port)],
        cwd=ROOT,
        env=_environment(tmp_path),
        stdout=subprocess.PIPE,
        text=True,
    )
    wait_until(lambda: "is ready" in process.stdout.readline(), timeout_s=90, what="the portal")

    process.send_signal(signal.SIGINT)

    assert process.wait(timeout=40) == 0
    with socket.socket() as probe:
        probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        probe.bind(("127.0.0.1", port))
