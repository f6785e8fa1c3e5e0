"""One appliance: what is registered, what its books hold, what the law makes of its records, and all of it as PDF."""

from typing import Any

from django.contrib import messages
from django.db.models import QuerySet
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils import timezone
from django.views.generic import DetailView, View

from compliance.forms.as_of import AsKnownForm
from compliance.selectors.appliance_page import appliance_page
from compliance.selectors.appliance_record import appliance_record
from compliance.selectors.forecasts import appliance_forecast
from compliance.selectors.papers.links import papers_for
from compliance.services.records.printing import appliance_record_name, appliance_record_pdf
from jobs.models import Appliance
from jobs.selectors.full_charges import full_charge_determinations
from jobs.services.entries import local_date
from portal.web.views import PortalView


class ApplianceDetailView(PortalView, DetailView):
    permission_required = ("jobs.view_appliance", "compliance.view_obligation")
    template_name = "compliance/appliance_detail.html"
    context_object_name = "appliance"

    def get_queryset(self) -> QuerySet[Appliance]:
        return Appliance.objects.select_related("site__customer", "technician")

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        now = timezone.now()
        page = appliance_page(self.object, now)
        return super().get_context_data(
            page=page,
            papers=papers_for(page.obligations),
            forecast=appliance_forecast(self.object, now),
            determinations=full_charge_determinations(self.object),
            **kwargs,
        )


class AppliancePdfView(PortalView, View):
    """The record of an appliance as of ``?as_of=`` and as known at ``?known_at=``, both now unless given."""

    permission_required = ("jobs.view_appliance", "compliance.view_obligation")

    def get(self, request: HttpRequest, pk: int) -> HttpResponse:
        appliances = Appliance.objects.select_related("site__customer", "technician")
        appliance = get_object_or_404(appliances, pk=pk)
        now = timezone.now()
        form = AsKnownForm(request.GET, today=local_date(appliance.site, now), now=now)
        if not form.is_valid():
            messages.error(request, next(iter(form.errors.values()))[0])
            return redirect("appliance-detail", pk)
        record = appliance_record(appliance, **form.cleaned_data)
        printed = appliance_record_pdf(record, printed_by=str(request.user), printed_at=now)
        response = HttpResponse(printed, content_type="application/pdf")
        response["Content-Disposition"] = f'inline; filename="{appliance_record_name(record)}"'
        return response
