"""Why one thing is owed, by when, what meets it, and what has happened since."""

from typing import Any

from django.db.models import QuerySet
from django.utils import timezone
from django.views.generic import DetailView

from compliance.models import Obligation
from compliance.selectors.assignments import assignment_history
from compliance.selectors.board import is_pending, standing
from compliance.selectors.next_filings import SETTLED_BY, next_filings
from compliance.selectors.obligation_case import obligation_case
from compliance.selectors.obligation_reminders import obligation_reminders
from compliance.selectors.papers.links import papers_for
from compliance.selectors.reminder_reach import obligation_reach
from portal.web.views import PortalView


class ObligationDetailView(PortalView, DetailView):
    permission_required = "compliance.view_obligation"
    template_name = "compliance/obligation_detail.html"
    context_object_name = "obligation"

    def get_queryset(self) -> QuerySet[Obligation]:
        self.now = timezone.now()
        return standing(Obligation.objects.all(), self.now).select_related(
            "appliance__site__customer",
            "appliance__technician__user",
            "opened_by",
            "met_by",
            "opened_by_filing",
            "met_by_filing",
            "assignment__technician__user",
            "assignment__user",
        )

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        case = obligation_case(self.object, self.now)
        may_file = self.request.user.has_perm("jobs.add_casefiling") and is_pending(self.object)
        return super().get_context_data(
            case=case,
            next_filings=next_filings(self.object, self.now) if may_file else [],
            papers=papers_for([self.object]),
            is_settled_by_filing=self.object.kind in SETTLED_BY,
            reach=obligation_reach(self.object),
            reminders=obligation_reminders(self.object, self.object.site_today, self.request.user),
            assignments=list(assignment_history(self.object)),
            **kwargs,
        )
