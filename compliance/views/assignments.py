"""Giving an obligation to somebody."""

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.generic import View

from compliance.forms.assignments import AssignmentForm
from compliance.models import Obligation
from compliance.selectors.assignments import assignment_history
from compliance.selectors.wording import kind_in_words
from compliance.services.assignments import obligation_assign
from jobs.errors import SubmissionRefused
from jobs.forms.refusals import add_refusals
from portal.web.views import PortalView


class AssignView(PortalView, View):
    permission_required = "compliance.add_obligationassignment"

    def get(self, request: HttpRequest, pk: int) -> HttpResponse:
        obligation = self._obligation(pk)
        given = obligation.assignment
        person = ""
        if given and given.technician_id:
            person = f"technician:{given.technician_id}"
        elif given and given.user_id:
            person = f"user:{given.user_id}"
        return self._page(obligation, self._form(obligation, initial={"person": person}))

    def post(self, request: HttpRequest, pk: int) -> HttpResponse:
        obligation = self._obligation(pk)
        form = self._form(obligation, data=request.POST)
        if form.is_valid():
            try:
                given = obligation_assign(
                    by=request.user,
                    obligation=obligation,
                    note=form.cleaned_data["note"],
                    assigned_at=timezone.now(),
                    **form.chosen,
                )
            except SubmissionRefused as refused:
                add_refusals(form, refused)
            else:
                name = given.to_whom or obligation.appliance.technician or "Nobody"
                messages.success(request, f"{name} has it now.")
                return redirect("obligation-detail", pk)
        return self._page(obligation, form)

    def _obligation(self, pk: int) -> Obligation:
        rows = Obligation.objects.select_related("appliance__site", "appliance__technician", "assignment")
        return get_object_or_404(rows, pk=pk)

    def _form(self, obligation: Obligation, **kwargs: Any) -> AssignmentForm:
        return AssignmentForm(appliance_technician=obligation.appliance.technician, **kwargs)

    def _page(self, obligation: Obligation, form: AssignmentForm) -> HttpResponse:
        context = {
            "obligation": obligation,
            "form": form,
            "kind": kind_in_words(obligation.kind),
            "assignments": list(assignment_history(obligation)),
        }
        return render(self.request, "compliance/obligation_assign.html", context)
