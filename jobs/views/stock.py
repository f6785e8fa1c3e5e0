"""The month's reconciliation, the list of purchases and sales, and the sheets of cylinder labels."""

import datetime
from typing import Any

from django.conf import settings
from django.db.models import QuerySet
from django.http import Http404, HttpRequest, HttpResponse
from django.utils import timezone
from django.views.generic import TemplateView, View

from jobs.models import Cylinder, StockMovement, StockMovementKind
from jobs.selectors.cylinder_labels import cylinder_labels
from jobs.selectors.reconciliation import reconciliation
from jobs.selectors.stock_list import LISTED, sale_kept, stock_list
from portal.web.pdf import render_pdf
from portal.web.views import PortalListView, PortalView

# A sheet holds ten; more than this are printed in several goes.
LABELS_MAX = 100


class ReconciliationView(PortalView, TemplateView):
    """One month, ``?month=2026-03``; the running one unless asked otherwise."""

    permission_required = "jobs.reconcile_stock"
    template_name = "jobs/reconciliation.html"

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        today = timezone.localdate()
        first_on = self._month(today)
        month = reconciliation(first_on, today=today)
        before = (first_on - datetime.timedelta(days=1)).replace(day=1)
        after = (first_on + datetime.timedelta(days=31)).replace(day=1)
        return super().get_context_data(
            month=month, before=before, after=after if after <= today else None, **kwargs
        )

    def _month(self, today: datetime.date) -> datetime.date:
        asked = self.request.GET.get("month", "")
        if not asked:
            return today.replace(day=1)
        try:
            first_on = datetime.date.fromisoformat(f"{asked}-01")
        except ValueError as error:
            message = f"Expected a month such as 2026-03, not “{asked}”."
            raise Http404(message) from error
        return min(first_on, today.replace(day=1))


class StockListView(PortalListView):
    permission_required = "jobs.reconcile_stock"
    template_name = "jobs/stock_list.html"
    context_object_name = "movements"

    @property
    def kind(self) -> str:
        """The one kind that is listed, or nothing for all."""
        asked = self.request.GET.get("kind", "")
        return asked if asked in LISTED else ""

    def get_queryset(self) -> QuerySet[StockMovement]:
        return stock_list(search=self.query, kind=self.kind)

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        context = super().get_context_data(**kwargs)
        for movement in context["movements"]:
            if movement.kind == StockMovementKind.SALE:
                movement.kept = sale_kept(movement)
        kinds = [(kind.value, kind.label) for kind in LISTED]
        return {**context, "kind": self.kind, "kinds": kinds}


class CylinderLabelsView(PortalView, View):
    """Labels as PDF: of the cylinders ticked (``?cylinder=``), or else of those listed."""

    permission_required = "jobs.view_cylinder"

    def get(self, request: HttpRequest) -> HttpResponse:
        asked = request.GET.getlist("cylinder") or request.GET.getlist("listed")
        ids = [int(text) for text in asked if text.isdecimal()][:LABELS_MAX]
        cylinders = list(Cylinder.objects.filter(pk__in=ids).order_by("serial_number"))
        if not cylinders:
            raise Http404("Expected cylinders on record.")
        labels = cylinder_labels(cylinders, site_url=settings.SITE_URL, today=timezone.localdate())
        response = HttpResponse(
            render_pdf("jobs/print/cylinder_labels.html", {"labels": labels}), content_type="application/pdf"
        )
        response["Content-Disposition"] = 'inline; filename="cylinder-labels.pdf"'
        return response
