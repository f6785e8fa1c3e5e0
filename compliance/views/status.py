"""Whether the portal does its work, for whoever answers for it."""

from typing import Any

from django.utils import timezone
from django.views.generic import TemplateView

from compliance.selectors.system_status import system_status
from portal.web.views import PortalView


class StatusView(PortalView, TemplateView):
    permission_required = "compliance.view_taskrun"
    template_name = "compliance/status.html"

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        return super().get_context_data(status=system_status(timezone.now()), **kwargs)
