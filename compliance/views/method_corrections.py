"""Pages on which a mistaken leak rate method of the register is put right, and such a record read and taken back."""

from typing import Any

from compliance.forms.case_filings import WithdrawalForm
from compliance.forms.method_corrections import MethodCorrectionForm, initial_of
from compliance.rulebook.method_change import CITATION
from compliance.services.method_corrections import (
    method_correction_amend,
    method_correction_file,
    method_correction_withdraw,
)
from compliance.views.facility_records import (
    FacilityRecordDetailView,
    FacilityRecordFormView,
    FacilityRecordView,
    FacilityRecordWithdrawView,
    OfFormer,
    OfSite,
)
from jobs.models import LeakRateMethod, LeakRateMethodCorrection


class _OfCorrections(FacilityRecordView):
    records = LeakRateMethodCorrection
    name = "method-correction"


class _FormView(_OfCorrections, FacilityRecordFormView):
    template_name = "compliance/method_correction_form.html"
    form_class = MethodCorrectionForm

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        return super().get_context_data(citation=CITATION, **kwargs)


class MethodCorrectionAddView(OfSite, _FormView):
    permission_required = "jobs.add_leakratemethodcorrection"
    heading = "Correct the leak rate method in the register"

    def get_initial(self) -> dict[str, Any]:
        registered = self.site.leak_rate_method
        return {"method": next(method.value for method in LeakRateMethod if method != registered)}

    def save(self, form: MethodCorrectionForm) -> LeakRateMethodCorrection:
        return method_correction_file(by=self.request.user, site=self.site, entry=form.entry)


class MethodCorrectionAmendView(OfFormer, _FormView):
    permission_required = "jobs.amend_leakratemethodcorrection"

    def get_initial(self) -> dict[str, Any]:
        return initial_of(self.former)

    def save(self, form: MethodCorrectionForm) -> LeakRateMethodCorrection:
        reason = form.cleaned_data["reason"]
        return method_correction_amend(
            by=self.request.user, correction=self.former, entry=form.entry, reason=reason
        )


class MethodCorrectionWithdrawView(_OfCorrections, FacilityRecordWithdrawView):
    permission_required = "jobs.amend_leakratemethodcorrection"

    def save(self, form: WithdrawalForm) -> LeakRateMethodCorrection:
        return method_correction_withdraw(by=self.request.user, correction=self.row, **form.cleaned_data)


class MethodCorrectionDetailView(_OfCorrections, FacilityRecordDetailView):
    permission_required = "jobs.view_leakratemethodcorrection"
    amend_permission = "jobs.amend_leakratemethodcorrection"
    template_name = "compliance/method_correction_detail.html"
    words = {"citation": CITATION}
