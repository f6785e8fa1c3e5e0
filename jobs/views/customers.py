"""Pages of customers and their sites."""

from copy import copy
from typing import Any

from django.db.models import QuerySet
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.utils.functional import cached_property

from jobs.forms.customers import CustomerForm, SiteForm
from jobs.models import Customer, Site
from jobs.selectors.appliances import appliance_list
from jobs.selectors.customers import customer_list, site_list
from jobs.selectors.method_changes import (
    is_method_fixed,
    method_changes_standing,
    method_corrections_standing,
    method_in_words,
)
from jobs.services.customers import customer_change, customer_register, site_change, site_register
from jobs.views.registers import Crumb, RegisterDetailView, RegisterFormView
from portal.web.views import PortalListView


def customer_crumbs(customer: Customer | None = None) -> list[Crumb]:
    """Return the way to a customer's page, or to the list."""
    crumbs = [("Customers", reverse("customer-list"))]
    return [*crumbs, (str(customer), reverse("customer-detail", args=[customer.pk]))] if customer else crumbs


def site_crumbs(site: Site) -> list[Crumb]:
    """Return the way to a site's page."""
    return [*customer_crumbs(site.customer), (site.name, reverse("site-detail", args=[site.pk]))]


class CustomerListView(PortalListView):
    permission_required = "jobs.view_customer"
    template_name = "jobs/customer_list.html"
    context_object_name = "customers"

    def get_queryset(self) -> QuerySet[Customer]:
        return customer_list(search=self.query)


class CustomerDetailView(RegisterDetailView):
    permission_required = "jobs.view_customer"
    template_name = "jobs/customer_detail.html"
    context_object_name = "customer"
    queryset = Customer.objects.all()

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        return super().get_context_data(sites=site_list(customer=self.object), **kwargs)


class CustomerAddView(RegisterFormView):
    permission_required = "jobs.add_customer"
    form_class = CustomerForm
    heading = "Add a customer"
    button = "Add the customer"
    done = "{} is on record. Add its first site next."

    def save(self, form: CustomerForm) -> Customer:
        return customer_register(by=self.request.user, **form.cleaned_data)

    def crumbs(self) -> list[Crumb]:
        return customer_crumbs()

    def done_url(self, row: Customer) -> str:
        return reverse("customer-detail", args=[row.pk])


class CustomerChangeView(CustomerAddView):
    permission_required = "jobs.change_customer"
    heading = "Change the customer"
    button = "Save"
    done = "{} is changed."

    @cached_property
    def customer(self) -> Customer:
        """The customer that is changed."""
        return get_object_or_404(Customer, pk=self.kwargs["pk"])

    def get_form_kwargs(self) -> dict[str, Any]:
        return {**super().get_form_kwargs(), "instance": self.customer}

    def save(self, form: CustomerForm) -> Customer:
        return customer_change(by=self.request.user, customer=copy(self.customer), **form.cleaned_data)

    def crumbs(self) -> list[Crumb]:
        return customer_crumbs(self.customer)


class SiteDetailView(RegisterDetailView):
    permission_required = "jobs.view_site"
    template_name = "jobs/site_detail.html"
    context_object_name = "site"
    queryset = Site.objects.select_related("customer")

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        changes = method_changes_standing().filter(site=self.object)
        return super().get_context_data(
            appliances=appliance_list().filter(site=self.object),
            method_changes=changes,
            method_corrections=method_corrections_standing().filter(site=self.object),
            method_words=method_in_words(self.object, changes),
            is_method_fixed=is_method_fixed(self.object),
            **kwargs,
        )


class SiteAddView(RegisterFormView):
    permission_required = "jobs.add_site"
    form_class = SiteForm
    heading = "Add a site"
    button = "Add the site"
    done = "{} is on record. Add its appliances next."

    @cached_property
    def customer(self) -> Customer:
        """The customer whose site it is."""
        return get_object_or_404(Customer, pk=self.kwargs["customer_pk"])

    def save(self, form: SiteForm) -> Site:
        return site_register(by=self.request.user, customer=self.customer, **form.cleaned_data)

    def crumbs(self) -> list[Crumb]:
        return customer_crumbs(self.customer)

    def done_url(self, row: Site) -> str:
        return reverse("site-detail", args=[row.pk])


class SiteChangeView(SiteAddView):
    permission_required = "jobs.change_site"
    heading = "Change the site"
    button = "Save"
    done = "{} is changed."

    @cached_property
    def site(self) -> Site:
        """The site that is changed."""
        return get_object_or_404(Site.objects.select_related("customer"), pk=self.kwargs["pk"])

    def get_form_kwargs(self) -> dict[str, Any]:
        return {**super().get_form_kwargs(), "instance": self.site}

    def save(self, form: SiteForm) -> Site:
        return site_change(by=self.request.user, site=copy(self.site), **form.cleaned_data)

    def crumbs(self) -> list[Crumb]:
        return site_crumbs(self.site)
