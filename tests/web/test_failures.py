"""A database that is away for the moment is told apart from a failure of the portal's own."""

import pytest
from django.contrib.auth.decorators import login_not_required
from django.db import DataError, InterfaceError, OperationalError, connection
from django.test import Client, override_settings
from django.urls import path

from portal.urls import handler500
from portal.urls import urlpatterns as pages

ERRORS = {
    "lost": OperationalError("the connection is lost"),
    "closed": InterfaceError("the connection is closed"),
    "driver": connection.Database.OperationalError("the cursor can't be closed"),
    "wrong": DataError("value too long"),
}


@login_not_required
def fail(_request, what):
    raise ERRORS[what]


urlpatterns = [path("fail/<what>/", fail), *pages]
__all__ = ["handler500"]


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("what", "status", "words"),
    [
        ("lost", 503, "The records can’t be reached at the moment"),
        ("closed", 503, "A service event that is sent again is never filed twice"),
        ("driver", 503, "The records can’t be reached at the moment"),
        ("wrong", 500, "The portal failed at this"),
    ],
)
@override_settings(ROOT_URLCONF=__name__)
def test_a_failure_says_whether_to_try_again(what, status, words):
    answer = Client(raise_request_exception=False).get(f"/fail/{what}/")

    assert answer.status_code == status
    assert words in answer.text
    assert answer.headers.get("Retry-After") == ("5" if status == 503 else None)
