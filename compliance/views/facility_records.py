"""What the pages of records about a facility's leak rate method share, be it a change or a correction."""

from typing import Any, ClassVar

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils.functional import cached_property
from django.views.generic import View

from compliance.forms.case_filings import WithdrawalForm
from compliance.selectors.method_changes import AnyRecord, facility_record_shown, whole_facility_records
from jobs.models import LeakRateMethodChange, LeakRateMethodCorrection, Site
from jobs.views.registers import Crumb, RegisterFormView
from portal.web.views import PortalView


class FacilityRecordView(PortalView):
    """A page about one kind of such records; ``records`` is their model, ``name`` what its addresses begin with."""

    records: ClassVar[type[LeakRateMethodChange] | type[LeakRateMethodCorrection]]
    name: ClassVar[str]

    def record(self, pk: int) -> AnyRecord:
        """The record that the address names."""
        return get_object_or_404(whole_facility_records(self.records), pk=pk)

    def done_url(self, row: AnyRecord) -> str:
        return reverse(f"{self.name}-detail", args=[row.pk])


class FacilityRecordFormView(FacilityRecordView, RegisterFormView):
    """What the adding and the amending of one share."""

    former: AnyRecord | None = None
    done = "Filed as {}."

    @property
    def site(self) -> Site:
        """The facility."""
        raise NotImplementedError

    def get_form_kwargs(self) -> dict[str, Any]:
        return {**super().get_form_kwargs(), "is_amendment": self.former is not None}

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        return super().get_context_data(site=self.site, former=self.former, **kwargs)

    def crumbs(self) -> list[Crumb]:
        site = (str(self.site), reverse("site-detail", args=[self.site.pk]))
        return [site, (str(self.former), self.done_url(self.former))] if self.former else [site]


class OfSite:
    """One that is added."""

    button = "File it"

    @cached_property
    def site(self) -> Site:
        return get_object_or_404(Site.objects.select_related("customer"), pk=self.kwargs["site_pk"])


class OfFormer:
    """One that takes the place of another."""

    button = "File the amendment"

    @cached_property
    def former(self) -> AnyRecord:
        return self.record(self.kwargs["pk"])

    @property
    def site(self) -> Site:
        return self.former.site

    @property
    def heading(self) -> str:
        return f"Amend {self.former}"


class FacilityRecordWithdrawView(FacilityRecordView, RegisterFormView):
    template_name = "compliance/facility_record_withdraw.html"
    form_class = WithdrawalForm
    button = "Withdraw it"
    done = "{} says that the former one counts no more."

    @cached_property
    def row(self) -> AnyRecord:
        """What counts no more."""
        return self.record(self.kwargs["pk"])

    @property
    def heading(self) -> str:
        return f"Withdraw {self.row}"

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        is_change = isinstance(self.row, LeakRateMethodChange)
        return super().get_context_data(row=self.row, is_change=is_change, **kwargs)

    def crumbs(self) -> list[Crumb]:
        site = self.row.site
        return [
            (str(site), reverse("site-detail", args=[site.pk])),
            (str(self.row), self.done_url(self.row)),
        ]


class FacilityRecordDetailView(FacilityRecordView, View):
    """One record as it was filed, the results of both methods with it, and its versions."""

    amend_permission: ClassVar[str]
    template_name: ClassVar[str]
    words: ClassVar[dict[str, str]]

    def get(self, request: HttpRequest, pk: int) -> HttpResponse:
        row = self.record(pk)
        context = {
            "row": row,
            "shown": facility_record_shown(row),
            "may_amend": request.user.has_perm(self.amend_permission),
            "urls": {act: f"{self.name}-{act}" for act in ("detail", "amend", "withdraw")},
            **self.words,
        }
        return render(request, self.template_name, context)
