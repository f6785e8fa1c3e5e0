"""The forecast: which appliances will want a charge next, and whose charge is likely to go over a threshold."""

from typing import Any

from django.utils.functional import cached_property

from compliance.forms.forecasts import ForecastForm
from compliance.models import ApplianceForecast
from compliance.selectors.forecasts import forecasts
from portal.web.views import PortalListView


class ForecastListView(PortalListView):
    permission_required = ("compliance.view_obligation", "jobs.view_appliance")
    model = ApplianceForecast
    template_name = "compliance/forecast_list.html"
    context_object_name = "forecasts"

    @cached_property
    def form(self) -> ForecastForm:
        return ForecastForm(self.request.GET)

    def get_queryset(self) -> Any:
        return forecasts(self.form.wanted)

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        return super().get_context_data(form=self.form, **kwargs)
