"""What is answered when a page fails: the records can't be reached for the moment, or the portal is at fault."""

import sys

from django.db import InterfaceError, OperationalError, connection
from django.http import HttpRequest, HttpResponse
from django.template.loader import render_to_string
from django.views.defaults import server_error

# A database that was restarted is back within seconds.
RETRY_AFTER_S = 5
# The driver's own, which Django passes on as they are where a cursor is being closed.
_DRIVER = connection.Database  # type: ignore[attr-defined]  # each of Django's databases has it
AWAY: tuple[type[BaseException], ...] = (
    OperationalError,
    InterfaceError,
    _DRIVER.OperationalError,
    _DRIVER.InterfaceError,
)


def page_failed(request: HttpRequest) -> HttpResponse:
    """Answer 503 where the database went away or refused for the moment, 500 for every other failure.

    The transaction of the request was rolled back, or, if the database went away while it ended, may stand.
    """
    if isinstance(sys.exc_info()[1], AWAY):
        page = render_to_string("503.html")
        return HttpResponse(page, status=503, headers={"Retry-After": RETRY_AFTER_S})
    return server_error(request)
