"""The board: what is owed, narrowed and in the order asked for."""

from collections.abc import Callable
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils import timezone
from django.utils.functional import cached_property
from django.views.generic import TemplateView, View

from compliance.forms.board import BoardCalendarForm, BoardForm
from compliance.models import Obligation
from compliance.selectors.board import BoardState, board, board_counts
from compliance.selectors.board_calendar import board_month
from compliance.selectors.board_document import board_document
from compliance.selectors.board_groups import board_sections
from compliance.selectors.reminders import unread_reminder_count
from compliance.selectors.reports.document import ReportDocument
from compliance.selectors.task_runs import SweepWatch, sweep_watch
from compliance.services.reports.spreadsheets import document_xlsx, table_csv
from portal.web.views import PortalListView, PortalView

XLSX = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
WRITERS: dict[str, Callable[[ReportDocument], tuple[bytes, str]]] = {
    "csv": lambda document: (table_csv(document.tables[0]), "text/csv; charset=utf-8"),
    "xlsx": lambda document: (document_xlsx(document), XLSX),
}


class BoardView(PortalListView):
    """The whole page, or the list alone when the filter asks for it."""

    permission_required = "compliance.view_obligation"
    model = Obligation
    context_object_name = "obligations"

    @cached_property
    def form(self) -> BoardForm:
        return BoardForm(self.request.GET, viewer=self.request.user)

    @property
    def is_fragment(self) -> bool:
        """Whether the filter asks for the list alone; going back in the browser asks for the whole page."""
        return bool(self.request.htmx) and not self.request.htmx.history_restore_request

    def get_template_names(self) -> list[str]:
        return ["compliance/partials/board_list.html" if self.is_fragment else "compliance/board_list.html"]

    def get_queryset(self) -> Any:
        self.now = timezone.now()
        return board(self.form.wanted, self.now)

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        counts = board_counts(self.form.wanted, self.now)
        context = super().get_context_data(**kwargs)
        return context | {
            "sections": board_sections(self.form.wanted, context["page_obj"], self.now),
            "form": self.form,
            "is_fragment": self.is_fragment,
            "states": [(state, getattr(counts, state.value)) for state in BoardState],
            "sweep": self._sweep(),
            "unread": unread_reminder_count(self.request.user),
        }

    def _sweep(self) -> SweepWatch | None:
        """How the sweep stands, for those who can see to it; the list alone leaves it where it is."""
        may_see = not self.is_fragment and self.request.user.has_perm("compliance.view_taskrun")
        return sweep_watch(self.now) if may_see else None


class BoardCalendarView(PortalView, TemplateView):
    """A month of the board, this one unless ``?month=`` names another."""

    permission_required = "compliance.view_obligation"
    template_name = "compliance/board_calendar.html"

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        form = BoardCalendarForm(self.request.GET, viewer=self.request.user)
        now, today = timezone.now(), timezone.localdate()
        wanted = form.wanted
        month = board_month(wanted, form.cleaned_data.get("month") or today, today, now)
        return super().get_context_data(form=form, month=month, today=today, **kwargs)


class BoardExportView(PortalView, View):
    """All that the filter leaves, on every page of it, as CSV or XLSX; the board says what is wrong with a filter."""

    permission_required = "compliance.view_obligation"

    def get(self, request: HttpRequest, suffix: str) -> HttpResponse:
        form = BoardForm(request.GET, viewer=request.user)
        if form.errors:
            return redirect(f"{reverse('board')}?{request.GET.urlencode()}")
        now = timezone.now()
        document = board_document(form.wanted, form.in_words, now)
        content, content_type = WRITERS[suffix](document)
        name = f"board-{now:%Y-%m-%d}.{suffix}"
        headers = {"Content-Disposition": f'attachment; filename="{name}"'}
        return HttpResponse(content, content_type=content_type, headers=headers)
