"""The embedded default's secret key: made once, kept in the data folder."""

import contextlib
import os
from pathlib import Path

from django.core.management.utils import get_random_secret_key


def read_or_make_secret_key(path: Path) -> str:
    """Return the key kept at ``path``, making it on the first call.

    Several processes may start together: each writes a file of its own and links it into
    place, so the first wins and nobody reads a half-written key.
    """
    if not path.exists():
        own = path.with_name(f"{path.name}.{os.getpid()}")
        own.touch(mode=0o600)
        own.write_text(get_random_secret_key())
        with contextlib.suppress(FileExistsError):
            path.hardlink_to(own)
        own.unlink()
    return path.read_text()
