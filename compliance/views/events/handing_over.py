"""A filed record as PDF, and its way to the customer by e-mail."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import get_object_or_404, redirect
from django.utils import timezone
from django.views.generic import View

from compliance.errors import CustomerHasNoAddress
from compliance.models import RecordDelivery
from compliance.selectors.event_record import whole_events
from compliance.selectors.service_record import service_record
from compliance.services.records import record_send_again
from compliance.services.records.printing import service_record_name, service_record_pdf
from jobs.models import ServiceEvent
from portal.web.views import PortalView, kept_file


class EventPdfView(PortalView, View):
    """The service record as the customer gets it."""

    permission_required = "jobs.view_serviceevent"

    def get(self, request: HttpRequest, pk: int) -> HttpResponse:
        record = service_record(get_object_or_404(whole_events(), pk=pk))
        response = HttpResponse(service_record_pdf(record), content_type="application/pdf")
        response["Content-Disposition"] = f'inline; filename="{service_record_name(record)}"'
        return response


class EventSendView(PortalView, View):
    """Sends a record once more."""

    permission_required = "compliance.add_recorddelivery"
    http_method_names = ("post",)

    def post(self, request: HttpRequest, pk: int) -> HttpResponse:
        event = get_object_or_404(ServiceEvent, pk=pk)
        try:
            delivery = record_send_again(by=request.user, event=event, asked_at=timezone.now())
        except CustomerHasNoAddress as error:
            messages.error(request, str(error))
        else:
            messages.success(request, f"Waiting to be sent to {delivery.recipient_email}.")
        return redirect("event-detail", pk)


class RecordDeliveryPdfView(PortalView, View):
    """The PDF as it was sent."""

    permission_required = "compliance.view_recorddelivery"

    def get(self, request: HttpRequest, pk: int) -> HttpResponseBase:
        delivery = get_object_or_404(RecordDelivery.objects.exclude(pdf=""), pk=pk)
        name = f"service-record-{delivery.event}-as-sent-{delivery.pk}.pdf"
        return kept_file(delivery.pdf, content_type="application/pdf", filename=name)
