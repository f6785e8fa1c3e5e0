"""The page that estimates a full charge from component sizes, and hands it to the form of an appliance."""

import json
from typing import Any
from urllib.parse import urlencode

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.views.generic import View

from compliance.rulebook.errors import InvalidInput as UnknownRefrigerant
from compliance.rulebook.refrigerants import find
from jobs.forms.charge_estimate import ROWS, ROWS_MOST, ChargeEstimateForm
from jobs.models import Appliance, Site
from jobs.physics.charge_documents import inputs_document, inputs_of_document
from jobs.physics.charge_estimate import ChargeEstimate, estimate_charge
from jobs.physics.errors import InvalidInput
from jobs.services.entries import EnteredMass
from jobs.views.properties import PAGES
from portal.web.views import PortalView


class ChargeEstimateView(PortalView, View):
    permission_required = "jobs.view_appliance"

    def get(self, request: HttpRequest) -> HttpResponse:
        site, appliance = self._subject()
        is_asked = "condensing_value" in request.GET
        rows = self._rows()
        initial = {"refrigerant": appliance.refrigerant} if appliance else {}
        form = ChargeEstimateForm(request.GET if is_asked else None, rows=rows, initial=initial)
        estimate = (
            self._estimate(form) if is_asked and "more" not in request.GET and form.is_valid() else None
        )
        context = {
            "form": form,
            "estimate": estimate,
            "appliance": appliance,
            "site": site,
            "rows": rows,
            "more_rows": min(rows + ROWS, ROWS_MOST),
            "pages": PAGES,
            "page": "charge-estimate",
            "use_url": self._use_url(estimate, site, appliance) if estimate else "",
        }
        return render(request, "jobs/charge_estimate.html", context)

    def _rows(self) -> int:
        asked = self.request.GET.get("more") or self.request.GET.get("rows") or ""
        return min(max(int(asked), ROWS), ROWS_MOST) if asked.isascii() and asked.isdigit() else ROWS

    def _subject(self) -> tuple[Site | None, Appliance | None]:
        """The site or the appliance that the estimate is for, if the address names one."""
        pk, site_pk = self.request.GET.get("appliance", ""), self.request.GET.get("site", "")
        if pk.isascii() and pk.isdigit():
            appliance = get_object_or_404(Appliance.objects.select_related("site__customer"), pk=pk)
            return appliance.site, appliance
        if site_pk.isascii() and site_pk.isdigit():
            return get_object_or_404(Site.objects.select_related("customer"), pk=site_pk), None
        return None, None

    def _estimate(self, form: ChargeEstimateForm) -> ChargeEstimate | None:
        try:
            form.cleaned_data["refrigerant"] = find(form.cleaned_data["refrigerant"]).designation
            return estimate_charge(form.inputs())
        except (InvalidInput, UnknownRefrigerant) as problem:
            form.add_invalid(problem)
            return None

    def _use_url(self, estimate: ChargeEstimate, site: Site | None, appliance: Appliance | None) -> str:
        """The form of the appliance with this charge filled in, for those who may change it."""
        charge = urlencode({"charge": json.dumps(inputs_document(estimate.inputs), separators=(",", ":"))})
        if appliance and self.request.user.has_perm("jobs.change_appliance"):
            return f"{reverse('appliance-change', args=[appliance.pk])}?{charge}"
        if site and not appliance and self.request.user.has_perm("jobs.add_appliance"):
            return f"{reverse('appliance-add', args=[site.pk])}?{charge}"
        return ""


def estimate_initial(text: str) -> dict[str, Any]:
    """What the form of an appliance begins with when it is opened from an estimate; nothing from a damaged address."""
    try:
        document = json.loads(text) if text else None
        estimate = estimate_charge(inputs_of_document(document)) if document else None
    except (ValueError, InvalidInput):
        return {}
    if estimate is None:
        return {}
    pounds = f"{estimate.mass_mg / 453_592.37:.2f}"
    return {
        "refrigerant": estimate.inputs.refrigerant,
        "full_charge": EnteredMass.parse(pounds, "lb"),
        "full_charge_method": "calculation",
        "full_charge_note": estimate.because,
        "charge_inputs": document,
    }
