"""A PostgreSQL of a test's own, which may be restarted amid work; never the machine's."""

import getpass
import os
import pwd
import shutil
import subprocess
import tempfile
from pathlib import Path
from typing import Self

from tests.brokers import free_port

PROGRAMS = Path("/usr/lib/postgresql")
SUPERUSER = "portal"


def has_postgresql() -> bool:
    """Whether the server's programs are here, and somebody who may run them: not root."""
    is_root = os.geteuid() == 0
    return bool(_bin()) and (not is_root or "postgres" in {entry.pw_name for entry in pwd.getpwall()})


def _bin() -> Path | None:
    folders = sorted(PROGRAMS.glob("*/bin"), key=lambda folder: int(folder.parent.name))
    return folders[-1] if folders else None


class OwnPostgres:
    """A fresh cluster on a free port while it is entered."""

    def __init__(self) -> None:
        self.port = free_port()
        self.folder = Path(tempfile.mkdtemp(prefix="portal-tests-postgresql-"))
        self.user = "postgres" if os.geteuid() == 0 else getpass.getuser()
        if os.geteuid() == 0:
            shutil.chown(self.folder, self.user)

    @property
    def url(self) -> str:
        """Its address, as DATABASE_URL has it."""
        return f"postgres://{SUPERUSER}@127.0.0.1:{self.port}/postgres"

    def restart_at_once(self) -> None:
        """End it as a crash would, with all that is under way, and start it again; return when it answers."""
        self._run("pg_ctl", "restart", "--mode", "immediate", "--wait", "--pgdata", str(self._data))

    def __enter__(self) -> Self:
        self._run("initdb", "--auth", "trust", "--username", SUPERUSER, "--encoding", "UTF8", str(self._data))
        options = f"-p {self.port} -c listen_addresses=127.0.0.1 -c unix_socket_directories=''"
        self._run("pg_ctl", "start", "--wait", "--pgdata", str(self._data), "--options", options)
        return self

    def __exit__(self, *_: object) -> None:
        self._run("pg_ctl", "stop", "--mode", "immediate", "--pgdata", str(self._data))
        shutil.rmtree(self.folder, ignore_errors=True)

    @property
    def _data(self) -> Path:
        return self.folder / "data"

    def _run(self, program: str, *words: str) -> None:
        folder = _bin()
        assert folder
        as_user = ["runuser", "-u", self.user, "--"] if os.geteuid() == 0 else []
        log = self.folder / "log"
        with log.open("ab") as output:
            subprocess.run(
                [*as_user, str(folder / program), *words],
                cwd=self.folder,
                stdout=output,
                stderr=subprocess.STDOUT,
                check=True,
                timeout=120,
            )
