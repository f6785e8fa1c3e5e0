"""The shipping paper of a shipment as PDF, to be signed and sent along."""

from typing import Any

from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.views.generic import View

from jobs.selectors.shipping_papers import shipments, shipping_paper
from portal.web.pdf import asked_paper, render_pdf
from portal.web.views import PortalView


class ShippingPaperView(PortalView, View):
    """On US letter, or on A4 with ``?paper=a4``."""

    permission_required = "jobs.view_cylinder"

    def get(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        paper = shipping_paper(get_object_or_404(shipments(), pk=kwargs["pk"]))
        context = {"shipping": paper, "paper": asked_paper(request), "firm_address": settings.FIRM_ADDRESS}
        content = render_pdf("jobs/print/shipping_paper.html", context)
        response = HttpResponse(content, content_type="application/pdf")
        response["Content-Disposition"] = 'inline; filename="shipping-paper.pdf"'
        return response
