"""Filed events: the list, and one record with what the law makes of it."""

from typing import Any

from django.db.models import QuerySet
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils import timezone
from django.views.generic import View

from compliance.forms.events.listing import EventListForm
from compliance.selectors.event_changes import Change, event_changes
from compliance.selectors.event_logs import event_logs, without_log
from compliance.selectors.event_pages import differing_event_count, event_list
from compliance.selectors.event_record import event_record, whole_events
from compliance.selectors.handing_over import handing_over
from jobs.models import ServiceEvent
from jobs.services.weigh_logs import may_add_log
from portal.web.views import PortalListView, PortalView


class EventListView(PortalListView):
    """Filed events, newest visit first, searched and filtered."""

    permission_required = "jobs.view_serviceevent"
    template_name = "compliance/event_list.html"
    context_object_name = "events"

    def get_queryset(self) -> QuerySet[ServiceEvent]:
        self.form = EventListForm(self.request.GET)
        return event_list(self.form.wanted)

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        return super().get_context_data(form=self.form, differing_count=differing_event_count(), **kwargs)


class EventDetailView(PortalView, View):
    """One record as filed, under the leak rates and deadlines that follow from it; also the answer to a filing."""

    permission_required = "jobs.view_serviceevent"

    def get(self, request: HttpRequest, pk: int) -> HttpResponse:
        event = get_object_or_404(whole_events(), pk=pk)
        record = event_record(event, timezone.now())
        context = {
            "event": event,
            "record": record,
            "logs": event_logs(event, record.moves),
            "addable": without_log(record.moves) if record.is_standing else [],
            "may_add_log": may_add_log(request.user, event),
            "changes": self._changes(event),
            "handing_over": handing_over(event),
            "filed": request.GET.get("filed", ""),
        }
        return render(request, "compliance/event_detail.html", context)

    @staticmethod
    def _changes(event: ServiceEvent) -> list[Change]:
        """What an amendment changed; voiding changes all, and needs no list."""
        if event.supersedes_id is None or event.is_void:
            return []
        return event_changes(whole_events().get(pk=event.supersedes_id), event)
