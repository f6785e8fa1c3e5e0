"""A person's calendar feed: read by its address without signing in, and kept on the page of how one is reminded."""

from django.contrib import messages
from django.contrib.auth.decorators import login_not_required
from django.core.signing import BadSignature
from django.http import HttpRequest, HttpResponse, HttpResponseNotFound
from django.shortcuts import redirect
from django.urls import reverse
from django.utils import timezone
from django.utils.cache import get_conditional_response
from django.utils.http import quote_etag
from django.views.decorators.http import require_safe
from django.views.generic import View

from compliance.models import CalendarFeed
from compliance.selectors.calendar_feeds import MAY_READ, readable_calendar_feed
from compliance.services.calendar_feeds import (
    calendar_feed_key,
    calendar_feed_read,
    calendar_feed_renew,
    calendar_feed_switch_off,
    calendar_feed_switch_on,
    seconds_to_wait,
)
from portal.web.views import PortalView

# The address is in nobody's index or referrer; a kept copy is private, and asked about before it is shown.
DISCREET = {
    "Cache-Control": "private, no-cache",
    "Referrer-Policy": "no-referrer",
    "X-Robots-Tag": "noindex",
}


@login_not_required
@require_safe
def calendar_feed(request: HttpRequest, token: str) -> HttpResponse:
    """Give out a feed; every address that leads to none is answered alike, and one that isn't ours without a query."""
    feed = _feed(token)
    now = timezone.now()
    if feed is None:
        return HttpResponseNotFound(
            "There is no calendar at this address.\n", content_type="text/plain", headers=DISCREET
        )
    if wait_s := seconds_to_wait(feed=feed, read_at=now):
        headers = {**DISCREET, "Retry-After": str(wait_s)}
        return HttpResponse("Read too often.\n", status=429, content_type="text/plain", headers=headers)
    reading = calendar_feed_read(feed=feed, read_at=now)
    etag = quote_etag(reading.version)
    response = get_conditional_response(request, etag=etag)
    if response is None:
        response = HttpResponse(reading.text(), content_type="text/calendar; charset=utf-8")
        response["Content-Disposition"] = 'inline; filename="obligations.ics"'
    for name, value in {**DISCREET, "ETag": etag}.items():
        response[name] = value
    return response


def _feed(token: str) -> CalendarFeed | None:
    try:
        key = calendar_feed_key(token)
    except BadSignature:
        return None
    return readable_calendar_feed(key)


class CalendarFeedKeepView(PortalView, View):
    """Does one thing to one's own feed, and leads back to the page that shows it."""

    permission_required = MAY_READ
    http_method_names = ("post",)

    def post(self, request: HttpRequest) -> HttpResponse:
        messages.success(request, self.act())
        return redirect(f"{reverse('reminder-preference')}#calendar-feed")

    def act(self) -> str:
        """Do it.

        Returns:
            What was done, in words.
        """
        raise NotImplementedError


class CalendarFeedOnView(CalendarFeedKeepView):
    def act(self) -> str:
        calendar_feed_switch_on(by=self.request.user, made_at=timezone.now())
        return "Your calendar has an address."


class CalendarFeedRenewView(CalendarFeedKeepView):
    def act(self) -> str:
        calendar_feed_renew(by=self.request.user, made_at=timezone.now())
        return "Your calendar has another address; the old one has ended."


class CalendarFeedOffView(CalendarFeedKeepView):
    def act(self) -> str:
        calendar_feed_switch_off(by=self.request.user)
        return "Your calendar is switched off; its address has ended."
