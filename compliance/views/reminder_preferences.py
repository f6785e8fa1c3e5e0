"""How a person is reminded: their own choice."""

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.decorators import method_decorator
from django.views.decorators.cache import never_cache
from django.views.generic import View

from compliance.forms.reminder_preferences import ReminderPreferenceForm
from compliance.selectors.calendar_feeds import calendar_count, calendar_feed_of
from compliance.selectors.reminder_preferences import preference_of
from compliance.selectors.sending_hours import sending_hours
from compliance.services.calendar_feeds import calendar_feed_path
from compliance.services.reminder_preferences import reminder_preference_choose
from jobs.errors import SubmissionRefused
from jobs.forms.refusals import add_refusals
from portal.web.views import PortalView


@method_decorator(never_cache, name="dispatch")
class ReminderPreferenceView(PortalView, View):
    """Everybody who sees obligations is reminded of some, and chooses for nobody else; it shows a private address."""

    permission_required = "compliance.view_obligation"

    def get(self, request: HttpRequest) -> HttpResponse:
        return self._page(ReminderPreferenceForm(instance=preference_of(request.user)))

    def post(self, request: HttpRequest) -> HttpResponse:
        form = ReminderPreferenceForm(request.POST, instance=preference_of(request.user))
        if form.is_valid():
            try:
                reminder_preference_choose(by=request.user, **form.cleaned_data)
            except SubmissionRefused as refused:
                add_refusals(form, refused)
            else:
                messages.success(request, "Your choice is kept.")
                return redirect("reminder-preference")
        return self._page(form)

    def _page(self, form: ReminderPreferenceForm) -> HttpResponse:
        hours, now = sending_hours(preference_of(self.request.user)), timezone.now()
        feed = calendar_feed_of(self.request.user)
        context: dict[str, Any] = {
            "form": form,
            "feed": feed,
            "feed_address": feed and self.request.build_absolute_uri(calendar_feed_path(feed)),
            "feed_count": calendar_count(self.request.user, now),
            "there": now.astimezone(hours.zone),
            "zone": hours.zone.key,
            "next_digest": (due_at := hours.next_digest_at(now)) and due_at.astimezone(hours.zone),
            "quiet_ends": hours.quiet_ends_at(now).astimezone(hours.zone) if hours.is_quiet(now) else None,
        }
        return render(self.request, "compliance/reminder_preference.html", context)
