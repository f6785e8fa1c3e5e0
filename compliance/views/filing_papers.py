"""A request, plan or report of a case as PDF, to be signed."""

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils import timezone
from django.views.generic import View

from compliance.forms.filing_papers import FilingPaperForm
from compliance.selectors.papers.kinds import PAPER_KINDS
from compliance.selectors.reports.parameters import ReportParameters, no_progress
from compliance.services.reports.catalogue import report_type
from compliance.services.reports.pdf import print_content
from jobs.models import Appliance
from jobs.services.entries import local_date
from portal.web.views import PortalView

SLUGS = frozenset(paper.slug for paper in PAPER_KINDS.values())


class FilingPaperView(PortalView, View):
    """The paper of one kind about one appliance, as of ``?as_of=``, and of ``?year=`` where it is about one."""

    permission_required = ("jobs.view_appliance", "compliance.view_obligation")

    def get(self, request: HttpRequest, pk: int, slug: str) -> HttpResponse:
        if slug not in SLUGS:
            raise Http404
        now = timezone.now()
        appliance = get_object_or_404(Appliance.objects.select_related("site__customer"), pk=pk)
        form = FilingPaperForm(request.GET, today=local_date(appliance.site, now))
        if not form.is_valid():
            messages.error(request, next(iter(form.errors.values()))[0])
            return redirect("appliance-detail", pk)
        as_of = form.cleaned_data["as_of"]
        year = form.cleaned_data["year"] or as_of.year
        parameters = ReportParameters(
            as_of=as_of, known_at=now, run_by=str(request.user), run_at=now, year=year, appliance=appliance
        )
        report = report_type(slug)
        content = print_content(report, report.content(parameters, no_progress), parameters)
        response = HttpResponse(content, content_type="application/pdf")
        response["Content-Disposition"] = f'inline; filename="{slug}-{pk}-{as_of}.pdf"'
        return response
