"""Correcting a filed record: another one takes its place, or says that the visit never took place."""

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.generic import View

from compliance.forms.events.amendment import AmendmentForm
from compliance.forms.events.initial import filed_visit
from compliance.forms.events.logs import take_in_files
from compliance.forms.events.page import EventPage
from compliance.selectors.event_form import event_background
from compliance.selectors.event_record import whole_events
from compliance.views.events.filing import show_event_form
from jobs.errors import SubmissionRefused
from jobs.forms.refusals import add_refusals
from jobs.models import ServiceEvent
from jobs.services.entries import local_date
from jobs.services.events import service_event_amend, service_event_void
from jobs.services.log_uploads import LogShelf
from portal.web.views import PortalView


class StandingEventView(PortalView, View):
    """A page for a record that stands; of one that doesn't, it shows the record and says why."""

    permission_required = "jobs.amend_serviceevent"
    event: ServiceEvent

    def dispatch(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
        if not self.has_permission():
            return self.handle_no_permission()
        self.event = get_object_or_404(whole_events(), pk=kwargs["pk"])
        if hasattr(self.event, "superseded_by") or self.event.is_void:
            word = "void" if self.event.is_void else f"replaced by {self.event.superseded_by}"
            messages.warning(request, f"{self.event} is {word}; only a record that stands can be amended.")
            return redirect("event-detail", self.event.pk)
        return super().dispatch(request, *args, **kwargs)


class EventAmendView(StandingEventView):
    """The event form, filled with what was filed; a reason is asked for."""

    def get(self, request: HttpRequest, pk: int) -> HttpResponse:
        return show_event_form(request, self._page(), amended=self.event)

    def post(self, request: HttpRequest, pk: int) -> HttpResponse:
        data, refused = take_in_files(request.POST, request.FILES, by=request.user, now=timezone.now())
        page = self._page(data, refused)
        if page.is_valid():
            try:
                filing = service_event_amend(
                    by=request.user,
                    event=self.event,
                    submission=page.submission(),
                    reason=page.amendment.cleaned_data["reason"],
                    filed_at=timezone.now(),
                )
            except SubmissionRefused as error:
                page.refuse(error)
            else:
                return redirect(f"{reverse('event-detail', args=[filing.event.pk])}?filed=1")
        return show_event_form(request, page, amended=self.event)

    def _page(self, data: Any = None, refused: Any = None) -> EventPage:
        background = event_background(self.event.appliance, on=self.event.happened_on, amended=self.event)
        initial = filed_visit(self.event, background)
        today = local_date(self.event.appliance.site, timezone.now())
        return EventPage(
            background,
            initial,
            data,
            today=today,
            amendment=AmendmentForm(data),
            shelf=LogShelf(self.request.user, self.event),
            refused_files=refused,
        )


class EventVoidView(StandingEventView):
    """States that the visit never took place, after asking for the reason."""

    def get(self, request: HttpRequest, pk: int) -> HttpResponse:
        return self._show(AmendmentForm())

    def post(self, request: HttpRequest, pk: int) -> HttpResponse:
        form = AmendmentForm(request.POST)
        if form.is_valid():
            try:
                filing = service_event_void(
                    by=request.user,
                    event=self.event,
                    reason=form.cleaned_data["reason"],
                    filed_at=timezone.now(),
                )
            except SubmissionRefused as error:
                add_refusals(form, error)
            else:
                return redirect("event-detail", filing.event.pk)
        return self._show(form)

    def _show(self, form: AmendmentForm) -> HttpResponse:
        return render(self.request, "compliance/event_confirm.html", {"event": self.event, "form": form})
