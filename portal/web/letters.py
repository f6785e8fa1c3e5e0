"""Reads the messages that the folder backend wrote, for the mailbox page; never runs what is in them."""

import datetime
import email
import email.policy
import re
from dataclasses import dataclass
from email.message import EmailMessage
from pathlib import Path

NAME = re.compile(r"(?P<nanoseconds>\d{20})-[0-9a-f]{8}")
NANOSECONDS_PER_SECOND = 10**9


@dataclass(frozen=True)
class Letter:
    """One message: its file's name without the ending, when it was written, and its headers."""

    name: str
    written_at: datetime.datetime
    subject: str
    sender: str
    recipients: str


@dataclass(frozen=True)
class LetterText:
    """A message with its plain text and the names of what hangs on it."""

    letter: Letter
    text: str
    attachments: tuple[str, ...]


def letter_names(folder: Path) -> list[str]:
    """Return the names of all messages, newest first; a folder that isn't there holds none."""
    names = (path.stem for path in folder.glob("*.eml"))
    return sorted((name for name in names if NAME.fullmatch(name)), reverse=True)


def read_letter(folder: Path, name: str) -> Letter:
    """Read one message's headers.

    Raises:
        FileNotFoundError: there is no such message.
    """
    return _letter(name, _parse(folder, name))


def read_letter_text(folder: Path, name: str) -> LetterText:
    """Read one message whole.

    Raises:
        FileNotFoundError: there is no such message.
    """
    message = _parse(folder, name)
    body = message.get_body(preferencelist=("plain",))
    return LetterText(
        letter=_letter(name, message),
        text=str(body.get_content()) if body else "",
        attachments=tuple(
            part.get_filename() or part.get_content_type() for part in message.iter_attachments()
        ),
    )


def read_attachment(folder: Path, name: str, position: int) -> tuple[str, bytes]:
    """Read what hangs on a message: its file name and its content.

    Args:
        folder: the mailbox.
        name: the message's.
        position: which attachment, counted from 0.

    Raises:
        FileNotFoundError: there is no such message, or no such attachment on it.
    """
    attachments = list(_parse(folder, name).iter_attachments())
    if position >= len(attachments):
        raise FileNotFoundError(name)
    part = attachments[position]
    content = part.get_payload(decode=True)
    return part.get_filename() or f"attachment-{position + 1}", content if isinstance(content, bytes) else b""


def _parse(folder: Path, name: str) -> EmailMessage:
    if not NAME.fullmatch(name):
        raise FileNotFoundError(name)
    message = email.message_from_bytes((folder / f"{name}.eml").read_bytes(), policy=email.policy.default)
    assert isinstance(message, EmailMessage)  # noqa: S101 -- what the default policy makes; for the type checker
    return message


def _letter(name: str, message: EmailMessage) -> Letter:
    seconds = int(name.partition("-")[0]) / NANOSECONDS_PER_SECOND
    return Letter(
        name=name,
        written_at=datetime.datetime.fromtimestamp(seconds, tz=datetime.UTC),
        subject=str(message["Subject"] or "(no subject)"),
        sender=str(message["From"] or ""),
        recipients=str(message["To"] or ""),
    )
