"""One appliance: what is registered, what its books hold, and what the law makes of its records."""

from typing import Any

from django.db.models import QuerySet
from django.utils import timezone
from django.views.generic import DetailView

from compliance.selectors.appliance_page import appliance_page
from jobs.models import Appliance
from portal.web.views import PortalView


class ApplianceDetailView(PortalView, DetailView):
    permission_required = ("jobs.view_appliance", "compliance.view_obligation")
    template_name = "compliance/appliance_detail.html"
    context_object_name = "appliance"

    def get_queryset(self) -> QuerySet[Appliance]:
        return Appliance.objects.select_related("site__customer", "technician")

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        return super().get_context_data(page=appliance_page(self.object, timezone.now()), **kwargs)
