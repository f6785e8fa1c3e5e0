"""The reports page, each report on the screen and as files, and the runs that are kept."""

from typing import Any

from django.contrib import messages
from django.http import FileResponse, Http404, HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.generic import FormView, View

from compliance.forms.reports import ReportForm
from compliance.models import ReportRun
from compliance.selectors.reports.document import ReportDocument
from compliance.selectors.reports.parameters import ReportParameters, no_progress
from compliance.services.reports.catalogue import REPORTS, ReportType, report_type
from compliance.services.reports.runs import kept_document, report_request, report_retry
from compliance.services.reports.spreadsheets import document_xlsx, document_zip, table_csv, table_file_name
from portal.web.views import PortalListView, PortalView

XLSX_TYPE = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
#: More appliances than this take longer than anyone waits for a page: such a report is run in the background.
SCREEN_APPLIANCES_MAX = 500
NO_FILE_YET = (
    "The {form} takes longer than you wait for a page: print the report, and take it from the run’s page."
)


class ReportListView(PortalListView):
    """What can be asked, and below it every run that is kept, newest first."""

    permission_required = "compliance.add_reportrun"
    template_name = "compliance/report_list.html"
    context_object_name = "runs"
    queryset = (
        ReportRun.objects.select_related("customer", "site", "run_by")
        .defer("document")
        .order_by("-run_at", "-pk")
    )
    extra_context = {
        "reports": [report for report in REPORTS if not report.is_paper],
        "papers": [report for report in REPORTS if report.is_paper],
    }


class ChosenReport(PortalView, FormView):
    """Reads the question from the address; what is wrong with it is shown on the form."""

    permission_required = "compliance.add_reportrun"
    form_class = ReportForm
    template_name = "compliance/report_page.html"

    @property
    def report(self) -> ReportType:
        """The report that the address names."""
        try:
            return report_type(self.kwargs["slug"])
        except LookupError as error:
            raise Http404 from error

    def get_form_kwargs(self) -> dict[str, Any]:
        today = timezone.localdate()
        chosen = self.request.POST if self.request.method == "POST" else self.request.GET
        data = {"year": str(today.year)} | chosen.dict()
        return {"data": data, "report": self.report, "today": today, "now": timezone.now()}

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        return super().get_context_data(report_type=self.report, **kwargs)

    def get(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        form = self.get_form()
        return self.form_valid(form) if form.is_valid() else self.form_invalid(form)

    def parameters(self, form: ReportForm) -> ReportParameters:
        """The question that the form asks."""
        return form.parameters(run_by=str(self.request.user))

    def too_many(self, parameters: ReportParameters) -> int:
        """How many appliances it is about where they are too many to wait for; else 0."""
        count = parameters.appliances().count()
        return count if count > SCREEN_APPLIANCES_MAX else 0


class ReportView(ChosenReport):
    """A report on the screen, calculated now."""

    def form_valid(self, form: ReportForm) -> HttpResponse:
        parameters = self.parameters(form)
        if count := self.too_many(parameters):
            return self.render_to_response(self.get_context_data(form=form, too_many=count))
        content = self.report.content(parameters, no_progress)
        document = self.report.document(content)
        context = self.get_context_data(form=form, report=content, document=document, parameters=parameters)
        return self.render_to_response(context)


class ReportFileView(ChosenReport):
    """A report as CSV, ZIP or XLSX, calculated now; one that takes too long leads to the page that runs it."""

    def form_valid(self, form: ReportForm) -> HttpResponse:
        parameters = self.parameters(form)
        if self.too_many(parameters):
            messages.info(self.request, NO_FILE_YET.format(form=self.kwargs["form"].upper()))
            asked = self.request.GET.urlencode()
            return redirect(f"{reverse('report', args=[self.report.slug])}?{asked}")
        document = self.report.document(self.report.content(parameters, no_progress))
        return _file(self.request, document, f"{self.report.slug}-{parameters.year}", self.kwargs["form"])


class ReportRunAddView(ChosenReport):
    """Asks for a run that is made in the background and kept."""

    http_method_names = ("post",)

    def form_valid(self, form: ReportForm) -> HttpResponse:
        run = report_request(
            by=self.request.user,
            kind=self.report.kind,
            parameters=self.parameters(form),
        )
        return redirect("report-run", pk=run.pk)


class ReportRunView(PortalView, View):
    """A run: how far it is while it is under way, and what came out once it is done."""

    permission_required = "compliance.add_reportrun"

    def get(self, request: HttpRequest, pk: int) -> HttpResponse:
        run = get_object_or_404(ReportRun.objects.select_related("customer", "site", "run_by"), pk=pk)
        context = {"run": run, "report_type": report_type(run.kind)}
        if run.document is not None:
            context["document"] = kept_document(run)
        is_fragment = request.htmx and run.is_under_way
        template = "report_run_progress" if is_fragment else "report_run"
        response = render(request, f"compliance/{'partials/' if is_fragment else ''}{template}.html", context)
        if request.htmx and not run.is_under_way:
            response["HX-Refresh"] = "true"
        return response


class ReportRunRetryView(PortalView, View):
    """Puts a failed run back into the queue."""

    permission_required = "compliance.add_reportrun"

    def post(self, request: HttpRequest, pk: int) -> HttpResponse:
        run = get_object_or_404(ReportRun, pk=pk)
        report_retry(run=run)
        return redirect("report-run", pk=pk)


class ReportRunFileView(PortalView, View):
    """A file of a kept run; where the PDF is gone, what is still known of it."""

    permission_required = "compliance.add_reportrun"

    def get(self, request: HttpRequest, pk: int, form: str) -> HttpResponseBase:
        run = get_object_or_404(ReportRun.objects.select_related("customer", "run_by"), pk=pk)
        slug = report_type(run.kind).slug
        name = f"{slug}-{run.year}-{run.pk}"
        if form != "pdf":
            if run.document is None:
                raise Http404
            return _file(request, kept_document(run), name, form)
        if not run.pdf:
            raise Http404
        try:
            content = run.pdf.open("rb")
        except FileNotFoundError:
            return render(request, "compliance/report_missing.html", {"run": run, "slug": slug}, status=404)
        return FileResponse(content, content_type="application/pdf", filename=f"{name}.pdf")


def _file(request: HttpRequest, document: ReportDocument, name: str, form: str) -> HttpResponse:
    """The document as XLSX, as a ZIP of all its tables as CSV, or one table of it, by its number, as CSV."""
    if form == "xlsx":
        return _download(document_xlsx(document), XLSX_TYPE, f"{name}.xlsx")
    if form == "zip":
        return _download(document_zip(document), "application/zip", f"{name}.zip")
    try:
        number = int(request.GET.get("table", 0))
        table = document.tables_and_about[number]
    except (ValueError, IndexError) as error:
        raise Http404 from error
    return _download(table_csv(table), "text/csv; charset=utf-8", f"{name}-{table_file_name(table)}")


def _download(content: bytes, content_type: str, name: str) -> HttpResponse:
    response = HttpResponse(content, content_type=content_type)
    response["Content-Disposition"] = f'attachment; filename="{name}"'
    return response
