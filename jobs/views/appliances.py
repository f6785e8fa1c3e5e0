"""Pages of appliances, but for the appliance's own, which shows records and law together and lives in compliance."""

from typing import Any

from django.db.models import QuerySet
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils.functional import cached_property
from django.views.generic import View

from compliance.rulebook.errors import InvalidInput
from compliance.rulebook.refrigerants import Refrigerant, find
from jobs.forms.appliances import ApplianceForm, NewApplianceForm
from jobs.models import Appliance, Site
from jobs.selectors.appliances import appliance_list
from jobs.services.appliances import appliance_change, appliance_register
from jobs.services.customers import site_change
from jobs.views.charge_estimate import estimate_initial
from jobs.views.customers import site_crumbs
from jobs.views.registers import Crumb, RegisterFormView
from portal.web.views import PortalListView, PortalView


def refrigerant_named(designation: str) -> Refrigerant | None:
    """Return the refrigerant of this designation, if any table holds it."""
    try:
        return find(designation)
    except InvalidInput:
        return None


class ApplianceListView(PortalListView):
    permission_required = "jobs.view_appliance"
    template_name = "jobs/appliance_list.html"
    context_object_name = "appliances"

    def get_queryset(self) -> QuerySet[Appliance]:
        return appliance_list(search=self.query)


class ApplianceFormView(RegisterFormView):
    """Adding and changing: both show the cautions of the refrigerant in the form."""

    template_name = "jobs/appliance_form.html"
    site: Site

    def get_form_kwargs(self) -> dict[str, Any]:
        return {**super().get_form_kwargs(), "site": self.site}

    def get_initial(self) -> dict[str, Any]:
        return estimate_initial(self.request.GET.get("charge", ""))

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        context = super().get_context_data(site=self.site, **kwargs)
        designation = context["form"]["refrigerant"].value() or ""
        return {**context, "refrigerant": refrigerant_named(designation)}

    def take_method(self, form: ApplianceForm) -> None:
        """Set the facility's leak rate method if it was chosen here."""
        method = form.cleaned_data["leak_rate_method"]
        if method != self.site.leak_rate_method:
            site_change(by=self.request.user, site=self.site, leak_rate_method=method)

    def done_url(self, row: Appliance) -> str:
        return reverse("appliance-detail", args=[row.pk])


class ApplianceAddView(ApplianceFormView):
    permission_required = "jobs.add_appliance"
    form_class = NewApplianceForm
    heading = "Add an appliance"
    button = "Add the appliance"
    done = "{} is on record."

    @cached_property
    def site(self) -> Site:
        """The site where it stands."""
        return get_object_or_404(Site.objects.select_related("customer"), pk=self.kwargs["site_pk"])

    def save(self, form: NewApplianceForm) -> Appliance:
        self.take_method(form)
        return appliance_register(by=self.request.user, site=self.site, entry=form.entry())

    def crumbs(self) -> list[Crumb]:
        return site_crumbs(self.site)


class ApplianceChangeView(ApplianceFormView):
    permission_required = "jobs.change_appliance"
    form_class = ApplianceForm
    heading = "Change the appliance"
    done = "{} is changed."

    @cached_property
    def appliance(self) -> Appliance:
        """The appliance that is changed."""
        return get_object_or_404(Appliance.objects.select_related("site__customer"), pk=self.kwargs["pk"])

    @property
    def site(self) -> Site:
        """The site where it stands."""
        return self.appliance.site

    def get_form_kwargs(self) -> dict[str, Any]:
        return {**super().get_form_kwargs(), "instance": self.appliance}

    def save(self, form: ApplianceForm) -> Appliance:
        return appliance_change(by=self.request.user, appliance=self.appliance, **form.row_fields())

    def crumbs(self) -> list[Crumb]:
        appliance = self.appliance
        return [
            *site_crumbs(appliance.site),
            (appliance.name, reverse("appliance-detail", args=[appliance.pk])),
        ]


class RefrigerantCautionsView(PortalView, View):
    """The fragment with the cautions of ``?refrigerant=``."""

    permission_required = "jobs.view_appliance"

    def get(self, request: HttpRequest) -> HttpResponse:
        refrigerant = refrigerant_named(request.GET.get("refrigerant", ""))
        return render(request, "jobs/partials/refrigerant_cautions.html", {"refrigerant": refrigerant})
