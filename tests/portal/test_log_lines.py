"""No line of the log holds an address that lets its bearer in."""

import io
import logging

import pytest
from django.test import Client

from portal.log_lines import LineFormatter
from portal.settings import LOGGING


@pytest.fixture
def lines():
    """What the portal would write, of all that Django says of requests."""
    stream = io.StringIO()
    handler = logging.StreamHandler(stream)
    form = LOGGING["formatters"]["line"]
    handler.setFormatter(LineFormatter(form["format"], style=form["style"]))
    logger = logging.getLogger("django.request")
    logger.addHandler(handler)
    yield stream
    logger.removeHandler(handler)


def test_the_settings_write_such_lines():
    assert LOGGING["formatters"]["line"]["()"] == f"{LineFormatter.__module__}.{LineFormatter.__name__}"
    assert LOGGING["handlers"]["console"]["formatter"] == "line"


def test_addresses_that_are_refused_stay_out_of_the_log(lines, db):
    Client().get("/calendar/secret.one.ics")
    Client().post("/calendar/secret.two.ics")
    Client().get("/reminders/acknowledge/secret:three/")
    Client().get("/board/nowhere/")

    text = lines.getvalue()
    assert "secret" not in text
    assert "Not Found: /calendar/(hidden).ics" in text
    assert "Method Not Allowed (POST): /calendar/(hidden).ics" in text
    assert "Not Found: /reminders/acknowledge/(hidden)/" in text
    assert "Not Found: /board/nowhere/" in text


def test_nor_does_a_traceback_hold_one(lines):
    error = LookupError("no such page: /calendar/secret.four.ics")
    logging.getLogger("django.request").error("Failed: /calendar/secret.four.ics", exc_info=error)

    text = lines.getvalue()
    assert "secret" not in text
    assert text.count("(hidden)") == 2
    assert "LookupError" in text
