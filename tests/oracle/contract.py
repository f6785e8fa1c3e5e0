"""The one door through which these tests reach the portal: the `assess` command, called in this process.

Nothing else of the rulebook is imported here, so that what is checked is what people script against.
"""

import contextlib
import io
import json
import os
import tempfile
from collections.abc import Iterator
from decimal import Decimal
from pathlib import Path
from typing import Any

from django.core.management import call_command

Json = dict[str, Any]


@contextlib.contextmanager
def _request_file(text: str) -> Iterator[Path]:
    handle, name = tempfile.mkstemp(suffix=".json")
    with os.fdopen(handle, "w", encoding="utf-8", errors="surrogatepass") as file:
        file.write(text)
    try:
        yield Path(name)
    finally:
        Path(name).unlink()


def _plain(value: object) -> object:
    """TOML decimals as JSON numbers; the shortest float prints the same digits for anything a person types."""
    if isinstance(value, Decimal):
        return float(value)
    message = f"{value!r} has no JSON form"
    raise TypeError(message)


def request_text(request: Json) -> str:
    return json.dumps(request, default=_plain)


def run_assess(text: str) -> tuple[int, str, str]:
    """Exit status, standard output and standard error of `manage.py assess FILE` for this text."""
    # Bytes underneath, as on a terminal or a pipe, so that a text which can't be written shows.
    out, err = (io.TextIOWrapper(io.BytesIO(), encoding="utf-8") for _ in range(2))
    status = 0
    with _request_file(text) as path, contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        try:
            call_command("assess", str(path), stdout=out, stderr=err)
        except SystemExit as stop:
            status = int(stop.code or 0)
    return status, _written(out), _written(err)


def _written(stream: io.TextIOWrapper) -> str:
    stream.seek(0)
    return stream.read()


def assess_json(request: Json) -> Json:
    """The answer to a good request. Numbers with a point come back as exact decimals."""
    status, out, err = run_assess(request_text(request))
    assert status == 0, f"exit {status}: {err}"
    return json.loads(out, parse_float=Decimal)


def assess_json_error(request: Json | str) -> Json:
    """The `error` object that a bad request is answered with; the exit status must be 2."""
    text = request if isinstance(request, str) else request_text(request)
    status, out, err = run_assess(text)
    assert status == 2, f"exit {status}, standard output: {out[:400]}"
    assert out == "", out
    return json.loads(err, parse_float=Decimal)["error"]
