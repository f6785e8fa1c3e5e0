"""Pages on which a change of a facility's leak rate method is filed, read, amended and withdrawn."""

from typing import Any

from django.utils import timezone

from compliance.forms.case_filings import WithdrawalForm
from compliance.forms.method_changes import MethodChangeForm, initial_of
from compliance.rulebook.method_change import CITATION, RECORD_CITATION
from compliance.services.method_changes import (
    method_change_amend,
    method_change_file,
    method_change_withdraw,
)
from compliance.views.facility_records import (
    FacilityRecordDetailView,
    FacilityRecordFormView,
    FacilityRecordView,
    FacilityRecordWithdrawView,
    OfFormer,
    OfSite,
)
from jobs.models import LeakRateMethod, LeakRateMethodChange
from jobs.selectors.method_changes import method_on
from jobs.services.entries import local_date


class _OfChanges(FacilityRecordView):
    records = LeakRateMethodChange
    name = "method-change"


class _FormView(_OfChanges, FacilityRecordFormView):
    template_name = "compliance/method_change_form.html"
    form_class = MethodChangeForm

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        method = method_on(self.site, local_date(self.site, timezone.now()))
        return super().get_context_data(method=method.label, citation=CITATION, **kwargs)


class MethodChangeAddView(OfSite, _FormView):
    permission_required = "jobs.add_leakratemethodchange"
    heading = "Change the leak rate method"

    def get_initial(self) -> dict[str, Any]:
        today = local_date(self.site, timezone.now())
        former = method_on(self.site, today)
        other = next(method for method in LeakRateMethod if method != former)
        return {"method": other.value, "happened_on": today}

    def save(self, form: MethodChangeForm) -> LeakRateMethodChange:
        return method_change_file(by=self.request.user, site=self.site, entry=form.entry)


class MethodChangeAmendView(OfFormer, _FormView):
    permission_required = "jobs.amend_leakratemethodchange"

    def get_initial(self) -> dict[str, Any]:
        return initial_of(self.former)

    def save(self, form: MethodChangeForm) -> LeakRateMethodChange:
        reason = form.cleaned_data["reason"]
        return method_change_amend(by=self.request.user, change=self.former, entry=form.entry, reason=reason)


class MethodChangeWithdrawView(_OfChanges, FacilityRecordWithdrawView):
    permission_required = "jobs.amend_leakratemethodchange"

    def save(self, form: WithdrawalForm) -> LeakRateMethodChange:
        return method_change_withdraw(by=self.request.user, change=self.row, **form.cleaned_data)


class MethodChangeDetailView(_OfChanges, FacilityRecordDetailView):
    permission_required = "jobs.view_leakratemethodchange"
    amend_permission = "jobs.amend_leakratemethodchange"
    template_name = "compliance/method_change_detail.html"
    words = {"citation": CITATION, "record_citation": RECORD_CITATION}
