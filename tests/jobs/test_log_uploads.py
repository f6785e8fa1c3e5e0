"""Logs that were sent before their form is filed: kept for who sent them, and swept when given up."""

import datetime
import uuid

import pytest

from jobs.models import WeighLogUpload
from jobs.services.log_uploads import (
    LOG_BYTES_MAX,
    UPLOAD_KEPT,
    LogShelf,
    content_of,
    kept_token,
    log_upload,
    log_uploads_sweep,
    shown_name,
)
from tests.factories import FILED_AT, UserFactory, file_event
from tests.jobs.logged_visits import LATER, file_with_log, log_of, refusals_of
from tests.scale_logs import scale_log

pytestmark = pytest.mark.django_db


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"", "this one is empty"),
        (b" \n\n", "this one is empty"),
        (b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR", "Expected a text file"),
        (b"1,2\n" * (LOG_BYTES_MAX // 4 + 1), "at most 20 MB"),
    ],
)
def test_what_can_be_no_log_is_not_kept(content, words):
    refused = refusals_of(log_upload, by=UserFactory(), name="x.csv", content=content, uploaded_at=FILED_AT)

    assert words in refused["log_file"]
    assert "x.csv" in refused["log_file"]
    assert WeighLogUpload.objects.count() == 0


def test_upload_is_found_by_who_sent_it_alone():
    owner, other = UserFactory(), UserFactory()
    upload = log_upload(by=owner, name="a.csv", content=scale_log(), uploaded_at=FILED_AT)

    assert content_of(LogShelf(owner).find(str(upload.pk))) == scale_log()
    assert LogShelf(other).find(str(upload.pk)) is None
    for token in ("", "x", "kept-", "kept-1", f"kept-{'9' * 30}", str(uuid.uuid4())):
        assert LogShelf(owner).find(token) is None


def test_kept_log_is_found_while_its_own_record_is_amended():
    event, other = file_with_log(), file_event().event
    token = kept_token(log_of(event))

    assert LogShelf(event.filed_by, event).find(token) == log_of(event)
    assert LogShelf(event.filed_by, other).find(token) is None
    assert LogShelf(event.filed_by).find(token) is None


def test_given_up_uploads_are_swept():
    by = UserFactory()
    log_upload(by=by, name="old.csv", content=scale_log(), uploaded_at=FILED_AT)
    fresh = log_upload(by=by, name="new.csv", content=scale_log(), uploaded_at=LATER)

    assert log_uploads_sweep(now=FILED_AT + UPLOAD_KEPT + datetime.timedelta(hours=1)) == 1
    assert list(WeighLogUpload.objects.all()) == [fresh]


@pytest.mark.parametrize(
    ("name", "shown"),
    [
        ("../../etc/passwd", "passwd"),
        ("C:\\logs\\scale.csv", "scale.csv"),
        ("a\x00b\r\n.csv", "ab.csv"),
        ("", "log.csv"),
        ("x" * 300 + ".csv", "x" * 196 + ".csv"),
    ],
)
def test_name_is_the_files_own(name, shown):
    assert shown_name(name) == shown
