"""Filings about a case: choosing a kind, filing, amending, withdrawing, and the record with its documents."""

import io
from typing import Any

from django.http import FileResponse, Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils import timezone
from django.utils.functional import cached_property
from django.views.generic import View

from compliance.forms.case_filings import CaseFilingForm, WithdrawalForm, initial_of
from compliance.models import Obligation
from compliance.rulebook.filings.catalogue import SPECS
from compliance.rulebook.filings.check import state_objections
from compliance.rulebook.filings.situation import Situation
from compliance.rulebook.filings.specs import FilingSpec
from compliance.selectors.filing_prefill import filing_prefill
from compliance.selectors.filing_record import filing_record, whole_filings
from compliance.selectors.filing_situation import filing_options, filing_situation
from compliance.selectors.papers.links import paper_of
from compliance.services.case_filings import (
    FilingSubmission,
    case_filing_amend,
    case_filing_file,
    case_filing_withdraw,
)
from compliance.services.records.printing import filing_record_name, filing_record_pdf
from jobs.models import Appliance, CaseFiling, FilingAttachment
from jobs.services.entries import local_date
from jobs.views.registers import Crumb, RegisterFormView
from portal.web.views import PortalView


def kind_of(slug: str) -> FilingSpec:
    """The kind that an address names."""
    for spec in SPECS.values():
        if spec.slug == slug:
            return spec
    raise Http404


class FilingPickView(PortalView, View):
    """Which kinds may be filed on an appliance today, and what speaks against the others."""

    permission_required = "jobs.add_casefiling"

    def get(self, request: HttpRequest, appliance_pk: int) -> HttpResponse:
        appliance = get_object_or_404(Appliance.objects.select_related("site__customer"), pk=appliance_pk)
        today = local_date(appliance.site, timezone.now())
        options = filing_options(filing_situation(appliance, on=today, today=today))
        context = {
            "appliance": appliance,
            "open": [option for option in options if option.is_open],
            "closed": [option for option in options if not option.is_open],
        }
        return render(request, "compliance/filing_pick.html", context)


class FilingFormView(RegisterFormView):
    """The form of a filing: the evidence of its kind, filled in from the records."""

    template_name = "compliance/filing_form.html"
    form_class = CaseFilingForm
    done = "Filed as {}."

    @property
    def appliance(self) -> Appliance:
        """What it is about."""
        raise NotImplementedError

    @property
    def spec(self) -> FilingSpec:
        """What its kind asks for."""
        raise NotImplementedError

    former: CaseFiling | None = None

    @property
    def heading(self) -> str:
        return self.spec.name

    @cached_property
    def situation(self) -> Situation:
        """The appliance today, without the filing that is amended."""
        today = local_date(self.appliance.site, timezone.now())
        return filing_situation(self.appliance, on=today, today=today, without=self.former)

    def get_form_kwargs(self) -> dict[str, Any]:
        kwargs = {"spec": self.spec, "situation": self.situation, "is_amendment": self.former is not None}
        return {**super().get_form_kwargs(), **kwargs}

    def submission(self, form: CaseFilingForm) -> FilingSubmission:
        """What was typed."""
        return FilingSubmission(
            appliance=self.appliance,
            kind=self.spec.kind,
            happened_on=form.cleaned_data["happened_on"],
            details=form.details,
            note=form.cleaned_data["note"],
            documents=form.chosen_documents,
            submission_id=form.cleaned_data["submission_id"],
        )

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        is_first_look = self.request.method == "GET" and self.former is None
        return super().get_context_data(
            appliance=self.appliance,
            spec=self.spec,
            citation=self.situation.cited(self.spec.paragraph),
            objections=state_objections(self.spec.kind, self.situation) if is_first_look else [],
            former=self.former,
            **kwargs,
        )

    def done_url(self, row: CaseFiling) -> str:
        return reverse("filing-detail", args=[row.pk])


class FilingAddView(FilingFormView):
    permission_required = "jobs.add_casefiling"
    button = "File it"

    @cached_property
    def appliance(self) -> Appliance:
        rows = Appliance.objects.select_related("site__customer")
        return get_object_or_404(rows, pk=self.kwargs["appliance_pk"])

    @cached_property
    def spec(self) -> FilingSpec:
        return kind_of(self.kwargs["kind"])

    @cached_property
    def obligation(self) -> Obligation | None:
        """The obligation whose page led here."""
        number = self.request.GET.get("obligation", "")
        rows = Obligation.objects.filter(appliance=self.appliance)
        return rows.filter(pk=number).first() if number.isdecimal() and number.isascii() else None

    def get_initial(self) -> dict[str, Any]:
        settles = self.obligation.kind if self.obligation else ""
        known = filing_prefill(self.spec, self.appliance, self.situation, settles=settles)
        return {"happened_on": self.situation.today, **known}

    def save(self, form: CaseFilingForm) -> CaseFiling:
        return case_filing_file(by=self.request.user, submission=self.submission(form))

    def crumbs(self) -> list[Crumb]:
        appliance = (str(self.appliance), reverse("appliance-detail", args=[self.appliance.pk]))
        if self.obligation is None:
            return [appliance]
        return [appliance, ("Case", reverse("obligation-detail", args=[self.obligation.pk]))]


class FilingAmendView(FilingFormView):
    permission_required = "jobs.amend_casefiling"
    button = "File the amendment"

    @cached_property
    def former(self) -> CaseFiling:
        return get_object_or_404(whole_filings(), pk=self.kwargs["pk"])

    @property
    def appliance(self) -> Appliance:
        return self.former.appliance

    @property
    def spec(self) -> FilingSpec:
        return self.former.spec

    @property
    def heading(self) -> str:
        return f"Amend {self.former}"

    def get_initial(self) -> dict[str, Any]:
        return {
            "happened_on": self.former.happened_on,
            "note": self.former.note,
            **initial_of(self.former.details, self.spec),
        }

    def save(self, form: CaseFilingForm) -> CaseFiling:
        return case_filing_amend(
            by=self.request.user,
            filing=self.former,
            submission=self.submission(form),
            reason=form.cleaned_data["reason"],
        )

    def crumbs(self) -> list[Crumb]:
        return [
            (str(self.appliance), reverse("appliance-detail", args=[self.appliance.pk])),
            (str(self.former), reverse("filing-detail", args=[self.former.pk])),
        ]


class FilingWithdrawView(RegisterFormView):
    permission_required = "jobs.amend_casefiling"
    template_name = "compliance/filing_withdraw.html"
    form_class = WithdrawalForm
    button = "Withdraw it"
    done = "{} says that the former one counts no more."

    @cached_property
    def filing(self) -> CaseFiling:
        """What counts no more."""
        return get_object_or_404(whole_filings(), pk=self.kwargs["pk"])

    @property
    def heading(self) -> str:
        return f"Withdraw {self.filing}"

    def save(self, form: WithdrawalForm) -> CaseFiling:
        return case_filing_withdraw(by=self.request.user, filing=self.filing, **form.cleaned_data)

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        return super().get_context_data(filing=self.filing, **kwargs)

    def crumbs(self) -> list[Crumb]:
        appliance = self.filing.appliance
        return [
            (str(appliance), reverse("appliance-detail", args=[appliance.pk])),
            (str(self.filing), reverse("filing-detail", args=[self.filing.pk])),
        ]

    def done_url(self, row: CaseFiling) -> str:
        return reverse("filing-detail", args=[row.pk])


class FilingDetailView(PortalView, View):
    """One filing as it was filed, what it did, and its versions."""

    permission_required = "jobs.view_casefiling"

    def get(self, request: HttpRequest, pk: int) -> HttpResponse:
        filing = get_object_or_404(whole_filings(), pk=pk)
        record = filing_record(filing, timezone.now())
        context = {"filing": filing, "record": record, "paper": paper_of(filing)}
        return render(request, "compliance/filing_detail.html", context)


class FilingPdfView(PortalView, View):
    """One filing as PDF, as record packs hold it."""

    permission_required = "jobs.view_casefiling"

    def get(self, request: HttpRequest, pk: int) -> HttpResponse:
        filing = get_object_or_404(whole_filings(), pk=pk)
        response = HttpResponse(filing_record_pdf(filing), content_type="application/pdf")
        response["Content-Disposition"] = f'inline; filename="{filing_record_name(filing)}"'
        return response


class FilingDocumentView(PortalView, View):
    """A document as it came, to be saved; a browser never runs it."""

    permission_required = "jobs.view_casefiling"

    def get(self, request: HttpRequest, pk: int, position: int) -> FileResponse:
        rows = FilingAttachment.objects.select_related("file")
        attachment = get_object_or_404(rows, filing=pk, position=position)
        return FileResponse(
            io.BytesIO(attachment.file.content),
            as_attachment=True,
            filename=attachment.name,
            content_type="application/octet-stream",
        )
