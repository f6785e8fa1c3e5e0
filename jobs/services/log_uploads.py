"""Logs on their way: kept from the moment a file is chosen, so that no error of the form loses them."""

import datetime
import hashlib
import zlib
from dataclasses import dataclass
from uuid import UUID

from jobs.errors import Refusal, SubmissionRefused
from jobs.models import ServiceEvent, WeighLog, WeighLogUpload
from jobs.selectors.events import event_line
from jobs.services.log_entries import LogAnswers
from portal.accounts.models import User

# 48 hours of a reading a second fit into half of it.
LOG_BYTES_MAX = 20 * 1024 * 1024
NAME_LENGTH_MAX = 200
# As long as a draft of the form is kept on the phone.
UPLOAD_KEPT = datetime.timedelta(days=14)
# Before the number of a log that the amended record has; and the digits of the largest key that a database gives.
KEPT = "kept-"
KEY_DIGITS_MAX = 18
BYTE_ORDER_MARKS = (b"\xff\xfe", b"\xfe\xff")


def log_upload(*, by: User, name: str, content: bytes, uploaded_at: datetime.datetime) -> WeighLogUpload:
    """Keep a file that a person chose, as it came.

    Raises:
        SubmissionRefused: at ``log_file``: empty, too large, or no text.
    """
    name = shown_name(name)
    check_log_file(name, content)
    sha256 = hashlib.sha256(content).hexdigest()
    before = WeighLogUpload.objects.filter(owner=by, sha256=sha256).order_by("-uploaded_at").first()
    return WeighLogUpload.objects.create(
        owner=by,
        name=name,
        sha256=sha256,
        outcomes=before.outcomes if before else {},
        byte_count=len(content),
        compressed=zlib.compress(content),
        uploaded_at=uploaded_at,
    )


def check_log_file(name: str, content: bytes) -> None:
    """Refuse what can be no log, before anything looks into it.

    Raises:
        SubmissionRefused: at ``log_file``.
    """
    if not content.strip():
        raise _refused(name, "Expected a file with readings; this one is empty.")
    check_log_size(name, len(content))
    if b"\0" in content and not content.startswith(BYTE_ORDER_MARKS):
        raise _refused(name, "Expected a text file, as the scale's log exports it (CSV or TXT).")


def check_log_size(name: str, byte_count: int) -> None:
    """Refuse a file that is too large, before it is read.

    Raises:
        SubmissionRefused: at ``log_file``.
    """
    if byte_count > LOG_BYTES_MAX:
        given = f"{name}, {byte_count / 1024**2:.1f} MB"
        raise _refused(given, f"Expected a file of at most {LOG_BYTES_MAX // 1024**2} MB.")


def log_upload_answer(*, upload: WeighLogUpload, answers: LogAnswers) -> WeighLogUpload:
    """Keep what a person answered about an upload beside it."""
    upload.unit, upload.time_column, upload.weight_column = (
        answers.unit,
        answers.time_column,
        answers.weight_column,
    )
    upload.save(update_fields=["unit", "time_column", "weight_column"])
    return upload


@dataclass(frozen=True)
class LogShelf:
    """The logs that a person's form may name: their own uploads, and those of the record that is being amended."""

    by: User
    amended: ServiceEvent | None = None

    def find(self, token: str) -> WeighLogUpload | WeighLog | None:
        """The log that a form names; None if there is none, or none any more."""
        kept, _, number = token.partition(KEPT)
        if not kept and number.isascii() and number.isdecimal() and len(number) <= KEY_DIGITS_MAX:
            return self._kept(int(number))
        try:
            key = UUID(token)
        except ValueError:
            return None
        return WeighLogUpload.objects.filter(pk=key, owner=self.by).first()

    def _kept(self, pk: int) -> WeighLog | None:
        if self.amended is None:
            return None
        logs = WeighLog.objects.select_related(
            "file", "reading", "transfer__scale", "transfer__from_holder", "transfer__to_holder"
        )
        return logs.filter(pk=pk, transfer__event__in=event_line(self.amended)).first()


def kept_token(log: WeighLog) -> str:
    """By which a form names a log that the amended record has."""
    return f"{KEPT}{log.pk}"


def content_of(shelved: WeighLogUpload | WeighLog) -> bytes:
    """The bytes of a log as they came."""
    return shelved.file.content if isinstance(shelved, WeighLog) else shelved.content


def answers_of(shelved: WeighLogUpload | WeighLog) -> LogAnswers:
    """What was answered about a log so far."""
    return LogAnswers(shelved.unit, shelved.time_column, shelved.weight_column)


def log_uploads_sweep(*, now: datetime.datetime) -> int:
    """Delete uploads that no form will come for; returns how many."""
    deleted, _ = WeighLogUpload.objects.filter(uploaded_at__lt=now - UPLOAD_KEPT).delete()
    return deleted


def shown_name(name: str) -> str:
    """A file's name without its folders and without what can't be shown."""
    last = name.replace("\\", "/").rpartition("/")[2]
    printable = "".join(character for character in last if character.isprintable()).strip()
    return printable[-NAME_LENGTH_MAX:] or "log.csv"


def _refused(value: str, expected: str) -> SubmissionRefused:
    return SubmissionRefused([Refusal("log_file", value, expected)])
