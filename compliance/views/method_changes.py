"""Pages on which a change of a facility's leak rate method is filed, read, amended and withdrawn."""

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils import timezone
from django.utils.functional import cached_property
from django.views.generic import View

from compliance.forms.case_filings import WithdrawalForm
from compliance.forms.method_changes import MethodChangeForm, initial_of
from compliance.rulebook.method_change import CITATION, RECORD_CITATION
from compliance.selectors.method_changes import method_change_record, whole_method_changes
from compliance.services.method_changes import (
    method_change_amend,
    method_change_file,
    method_change_withdraw,
)
from jobs.models import LeakRateMethod, LeakRateMethodChange, Site
from jobs.selectors.method_changes import method_on
from jobs.services.entries import local_date
from jobs.views.registers import Crumb, RegisterFormView
from portal.web.views import PortalView


class MethodChangeFormView(RegisterFormView):
    """What the adding and the amending of a change share."""

    template_name = "compliance/method_change_form.html"
    form_class = MethodChangeForm
    done = "Filed as {}."
    former: LeakRateMethodChange | None = None

    @property
    def site(self) -> Site:
        """The facility."""
        raise NotImplementedError

    def get_form_kwargs(self) -> dict[str, Any]:
        return {**super().get_form_kwargs(), "is_amendment": self.former is not None}

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        today = local_date(self.site, timezone.now())
        return super().get_context_data(
            site=self.site,
            former=self.former,
            method=method_on(self.site, today).label,
            citation=CITATION,
            **kwargs,
        )

    def crumbs(self) -> list[Crumb]:
        site = (str(self.site), reverse("site-detail", args=[self.site.pk]))
        return [site, (str(self.former), _url(self.former))] if self.former else [site]

    def done_url(self, row: LeakRateMethodChange) -> str:
        return _url(row)


class MethodChangeAddView(MethodChangeFormView):
    permission_required = "jobs.add_leakratemethodchange"
    heading = "Change the leak rate method"
    button = "File it"

    @cached_property
    def site(self) -> Site:
        return get_object_or_404(Site.objects.select_related("customer"), pk=self.kwargs["site_pk"])

    def get_initial(self) -> dict[str, Any]:
        today = local_date(self.site, timezone.now())
        former = method_on(self.site, today)
        other = next(method for method in LeakRateMethod if method != former)
        return {"method": other.value, "happened_on": today}

    def save(self, form: MethodChangeForm) -> LeakRateMethodChange:
        return method_change_file(by=self.request.user, site=self.site, entry=form.entry)


class MethodChangeAmendView(MethodChangeFormView):
    permission_required = "jobs.amend_leakratemethodchange"
    button = "File the amendment"

    @cached_property
    def former(self) -> LeakRateMethodChange:
        return get_object_or_404(whole_method_changes(), pk=self.kwargs["pk"])

    @property
    def site(self) -> Site:
        return self.former.site

    @property
    def heading(self) -> str:
        return f"Amend {self.former}"

    def get_initial(self) -> dict[str, Any]:
        return initial_of(self.former)

    def save(self, form: MethodChangeForm) -> LeakRateMethodChange:
        reason = form.cleaned_data["reason"]
        return method_change_amend(by=self.request.user, change=self.former, entry=form.entry, reason=reason)


class MethodChangeWithdrawView(RegisterFormView):
    permission_required = "jobs.amend_leakratemethodchange"
    template_name = "compliance/method_change_withdraw.html"
    form_class = WithdrawalForm
    button = "Withdraw it"
    done = "{} says that the former one counts no more."

    @cached_property
    def change(self) -> LeakRateMethodChange:
        """What counts no more."""
        return get_object_or_404(whole_method_changes(), pk=self.kwargs["pk"])

    @property
    def heading(self) -> str:
        return f"Withdraw {self.change}"

    def save(self, form: WithdrawalForm) -> LeakRateMethodChange:
        return method_change_withdraw(by=self.request.user, change=self.change, **form.cleaned_data)

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        return super().get_context_data(change=self.change, **kwargs)

    def crumbs(self) -> list[Crumb]:
        site = self.change.site
        return [
            (str(site), reverse("site-detail", args=[site.pk])),
            (str(self.change), _url(self.change)),
        ]

    def done_url(self, row: LeakRateMethodChange) -> str:
        return _url(row)


class MethodChangeDetailView(PortalView, View):
    """One change as it was filed, the results of both methods with it, and its versions."""

    permission_required = "jobs.view_leakratemethodchange"

    def get(self, request: HttpRequest, pk: int) -> HttpResponse:
        change = get_object_or_404(whole_method_changes(), pk=pk)
        context = {
            "change": change,
            "record": method_change_record(change),
            "citation": CITATION,
            "record_citation": RECORD_CITATION,
        }
        return render(request, "compliance/method_change_detail.html", context)


def _url(change: LeakRateMethodChange) -> str:
    return reverse("method-change-detail", args=[change.pk])
