"""The reports page, the annual leak rate report in its four forms, and the kept prints."""

from typing import Any

from django.http import FileResponse, HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.generic import FormView, View

from compliance.forms.reports import AnnualReportForm
from compliance.models import ReportRun
from compliance.selectors.annual_report import AnnualReport, annual_report
from compliance.services.reports.pdf import report_print
from compliance.services.reports.spreadsheets import annual_report_csv, annual_report_xlsx
from portal.web.views import PortalListView, PortalView

XLSX_TYPE = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"


class ReportListView(PortalListView):
    """What to ask for, and below it every kept print, newest first."""

    permission_required = "compliance.add_reportrun"
    template_name = "compliance/report_list.html"
    context_object_name = "runs"
    queryset = ReportRun.objects.select_related("customer", "run_by").order_by("-run_at", "-pk")

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        form = AnnualReportForm(today=timezone.localdate())
        return super().get_context_data(form=form, **kwargs)


class ChosenReport(PortalView, FormView):
    """Reads customer and year from the address; what is wrong with them is shown on the form."""

    permission_required = "compliance.add_reportrun"
    form_class = AnnualReportForm
    template_name = "compliance/annual_leak_rate_report.html"

    def get_form_kwargs(self) -> dict[str, Any]:
        today = timezone.localdate()
        chosen = self.request.POST if self.request.method == "POST" else self.request.GET
        return {"data": {"year": str(today.year)} | chosen.dict(), "today": today}

    def get(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        form = self.get_form()
        return self.form_valid(form) if form.is_valid() else self.form_invalid(form)

    def chosen_report(self, form: AnnualReportForm) -> AnnualReport:
        """Calculate the report that the form asks for."""
        return annual_report(
            year=form.cleaned_data["year"],
            customer=form.cleaned_data["customer"],
            as_of=timezone.localdate(),
            known_at=timezone.now(),
        )


class AnnualReportView(ChosenReport):
    def form_valid(self, form: AnnualReportForm) -> HttpResponse:
        context = self.get_context_data(form=form, report=self.chosen_report(form))
        return self.render_to_response(context)


class AnnualReportCsvView(ChosenReport):
    def form_valid(self, form: AnnualReportForm) -> HttpResponse:
        report = self.chosen_report(form)
        return _download(annual_report_csv(report), "text/csv; charset=utf-8", f"{_name(report)}.csv")


class AnnualReportXlsxView(ChosenReport):
    def form_valid(self, form: AnnualReportForm) -> HttpResponse:
        report = self.chosen_report(form)
        return _download(annual_report_xlsx(report), XLSX_TYPE, f"{_name(report)}.xlsx")


class AnnualReportPdfView(ChosenReport):
    """Printing keeps a copy, so it is asked for by POST."""

    http_method_names = ("post",)

    def form_valid(self, form: AnnualReportForm) -> HttpResponse:
        run = report_print(by=self.request.user, report=self.chosen_report(form), run_at=timezone.now())
        return redirect("report-download", pk=run.pk)


class ReportDownloadView(PortalView, View):
    """A kept print; where its file is gone, what is still known of it."""

    permission_required = "compliance.add_reportrun"

    def get(self, request: HttpRequest, pk: int) -> HttpResponseBase:
        run = get_object_or_404(ReportRun.objects.select_related("customer", "run_by"), pk=pk)
        name = f"annual-leak-rate-{run.year}-{run.pk}.pdf"
        try:
            content = run.pdf.open("rb")
        except FileNotFoundError:
            return render(request, "compliance/report_missing.html", {"run": run}, status=404)
        return FileResponse(content, content_type="application/pdf", filename=name)


def _name(report: AnnualReport) -> str:
    whose = f"-customer-{report.customer.pk}" if report.customer else ""
    return f"annual-leak-rate-{report.year}{whose}"


def _download(content: bytes, content_type: str, name: str) -> HttpResponse:
    response = HttpResponse(content, content_type=content_type)
    response["Content-Disposition"] = f'attachment; filename="{name}"'
    return response
