"""The board: what is owed, narrowed and in the order asked for."""

from typing import Any

from django.utils import timezone
from django.utils.functional import cached_property

from compliance.forms.board import BoardForm
from compliance.models import Obligation
from compliance.selectors.board import BoardState, board, board_counts
from compliance.selectors.reminders import unread_reminder_count
from portal.web.views import PortalListView


class BoardView(PortalListView):
    """The whole page, or the list alone when the filter asks for it."""

    permission_required = "compliance.view_obligation"
    model = Obligation
    context_object_name = "obligations"

    @cached_property
    def form(self) -> BoardForm:
        return BoardForm(self.request.GET)

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
        return super().get_context_data(
            form=self.form,
            is_fragment=self.is_fragment,
            states=[(state, getattr(counts, state.value)) for state in BoardState],
            unread=unread_reminder_count(self.request.user),
            own_technician=getattr(self.request.user, "technician", None),
            **kwargs,
        )
