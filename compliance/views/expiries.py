"""What runs out: certificates, apprentices' exemptions, cylinders' tests and calibrations, the soonest first."""

from typing import Any

from django.utils import timezone
from django.utils.functional import cached_property

from compliance.forms.expiries import ExpiryForm
from compliance.selectors.expiring import expiry_list, expiry_rows, ran_out_count
from portal.web.views import PortalListView


class ExpiryListView(PortalListView):
    permission_required = ("compliance.view_obligation", "jobs.view_technician", "jobs.view_cylinder")
    template_name = "compliance/expiry_list.html"
    context_object_name = "expiries"

    @cached_property
    def form(self) -> ExpiryForm:
        return ExpiryForm(self.request.GET)

    def get_queryset(self) -> Any:
        return expiry_list(self.form.wanted, timezone.localdate())

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        context = super().get_context_data(form=self.form, **kwargs)
        page = context["page_obj"]
        rows = expiry_rows(page.object_list, self.request.user)
        return context | {"rows": rows, "ran_out": ran_out_count(page.paginator.object_list)}
