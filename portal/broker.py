"""The embedded default's message broker: a folder with one file a message.

kombu brings a file transport; this one keeps its form and makes both ends atomic. A message
appears by a rename, so no reader sees half of it, and is taken by a rename, so no two workers
get the same one. A worker that is killed loses the messages it holds: every task can be
repeated, and the scheduled sweeps look into the database for what is still to be done.
"""

import time
import uuid
from pathlib import Path
from queue import Empty
from typing import Any

from kombu.transport import TRANSPORT_ALIASES, filesystem
from kombu.utils.json import dumps, loads

SCHEME = "folder"


class FolderChannel(filesystem.Channel):
    """Puts and takes messages as files of one folder."""

    def _put(self, queue: str, payload: dict[str, Any], **_: Any) -> None:  # type: ignore[override]
        # The clock's time, so that the order outlives a restart of the machine.
        name = f"{time.time_ns():020d}_{uuid.uuid4()}.{queue}.msg"
        folder = Path(self.data_folder_out)
        draft = folder / f".{name}"
        draft.write_text(dumps(payload), encoding="utf-8")
        draft.rename(folder / name)

    def _get(self, queue: str, timeout: float | None = None) -> dict[str, Any]:
        for path in sorted(Path(self.data_folder_in).glob(f"[0-9]*.{queue}.msg")):
            # The pattern also fits a queue whose name ends in ".<queue>".
            if path.name.partition(".")[2] != f"{queue}.msg":
                continue
            taken = Path(self.processed_folder) / path.name
            try:
                path.rename(taken)
            except FileNotFoundError:
                continue
            payload = loads(taken.read_text(encoding="utf-8"))
            taken.unlink()
            return payload
        raise Empty


class FolderTransport(filesystem.Transport):
    """kombu's file transport with the channel above."""

    Channel = FolderChannel


def folder_broker(folder: Path) -> tuple[str, dict[str, str]]:
    """Make the broker's folders; return the broker's address and its transport options."""
    TRANSPORT_ALIASES[SCHEME] = f"{__name__}:FolderTransport"
    parts = {name: folder / name for name in ("messages", "taken", "queues")}
    for part in parts.values():
        part.mkdir(parents=True, exist_ok=True)
    options = {
        "data_folder_in": str(parts["messages"]),
        "data_folder_out": str(parts["messages"]),
        "processed_folder": str(parts["taken"]),
        "control_folder": str(parts["queues"]),
    }
    return f"{SCHEME}://localhost", options
