"""Puts the steps into a worker's process at which it can be killed; see tests/nursery/kill_points.py."""

import functools
import os
import signal
import smtplib
from collections.abc import Callable
from pathlib import Path
from typing import Any

from compliance import tasks
from compliance.services import assessments, outbox, sweeps
from compliance.services.reminders import digests, raising
from jobs.models import ChainSeal
from tests.nursery.kill_points import SEAL_STEP, WORKER

_folder = Path()
_held = ""


def _take(step: str) -> str | None:
    armed, taken = _folder / step, _folder / f"{step}.{os.getpid()}"
    try:
        armed.rename(taken)
    except FileNotFoundError:
        return None
    what = taken.read_text()
    taken.write_text(_held)
    return what


def _die(step: str, what: str) -> None:
    (_folder / f"{step}.{os.getpid()}").rename(_folder / f"{step}.reached")
    if what == WORKER:
        os.killpg(os.getpgrp(), signal.SIGKILL)
    os.kill(os.getpid(), signal.SIGKILL)


def _reached(step: str) -> None:
    if step and (what := _take(step)):
        _die(step, what)


def _around(owner: Any, name: str, *, before: str = "", after: str = "", lets_go: bool = False) -> None:
    original: Callable[..., Any] = getattr(owner, name)

    @functools.wraps(original)
    def with_steps(*args: Any, **kwargs: Any) -> Any:
        global _held  # noqa: PLW0603 -- a worker's process does one thing at a time
        _reached(before)
        answer = original(*args, **kwargs)
        if lets_go:
            _held = ""
        _reached(after)
        return answer

    setattr(owner, name, with_steps)


def _claims(owner: Any, name: str) -> None:
    """Note what a worker holds."""
    original: Callable[..., Any] = getattr(owner, name)

    @functools.wraps(original)
    def with_steps(*args: Any, **kwargs: Any) -> Any:
        global _held  # noqa: PLW0603 -- as above
        _reached("task begun")
        row = original(*args, **kwargs)
        if row is not None:
            _held = f"{row._meta.model_name} {row.pk}"
            _reached("claimed")
        return row

    setattr(owner, name, with_steps)


def _amid_the_text() -> None:
    send = smtplib.SMTP.send

    def send_with_steps(self: smtplib.SMTP, text: Any) -> None:
        if not (isinstance(text, bytes) and text.endswith(b"\r\n.\r\n")):
            send(self, text)
            return
        step = "half of the text sent"
        if what := _take(step):
            send(self, text[: len(text) // 2])
            _die(step, what)
        send(self, text)
        _reached("text sent")

    smtplib.SMTP.send = send_with_steps  # type: ignore[method-assign]


def put_steps(folder: Path) -> None:
    """Put the steps in place in this process; they are armed by files in a folder."""
    global _folder  # noqa: PLW0603 -- of this process alone
    _folder = folder
    _around(tasks, "sweep_chunk_claim", after="chunk claimed")
    _around(assessments, "answers_keep", after="answers kept, not committed")
    _around(sweeps, "appliances_reassess", after="chunk assessed, not noted")
    _around(ChainSeal, "save", after=SEAL_STEP)
    _around(raising, "_replace_older", after="rows being raised")
    _around(raising, "_raise_chunk", after="rows raised")
    _claims(tasks, "reminder_claim")
    _claims(tasks, "digest_claim")
    _around(digests, "_make", after="digest made")
    _around(digests, "_message", after="digest written")
    _around(outbox, "get_connection", before="message written")
    _around(smtplib.SMTP, "connect", after="connected")
    _around(smtplib.SMTP, "ehlo", after="greeted")
    _around(smtplib.SMTP, "mail", after="sender named")
    _around(smtplib.SMTP, "rcpt", after="recipient named")
    _around(outbox._HandingOver, "begin", before="asked for the text", after="handing over noted")
    _amid_the_text()
    _around(outbox._HandingOver, "end", before="answer read", after="answer noted")
    _around(smtplib.SMTP, "quit", after="farewell said")
    _around(tasks, "reminder_deliver", after="reminder done", lets_go=True)
    _around(tasks, "digest_deliver", before="digest claimed", after="digest done", lets_go=True)
