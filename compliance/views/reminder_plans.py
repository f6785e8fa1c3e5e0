"""When each kind of obligation is reminded of: the plans in force, and the officer's decisions."""

from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.generic import TemplateView, View

from compliance.forms.reminder_plans import PLAN_FIELDS, ReminderPlanForm
from compliance.selectors.milestones import own_plan, plan_book
from compliance.selectors.reminder_plans import PLANNED_KINDS, kind_plans, plan_history
from compliance.selectors.wording import kind_in_words
from compliance.services.reminder_plans import reminder_plan_decide
from jobs.errors import SubmissionRefused
from jobs.forms.refusals import add_refusals
from portal.web.views import PortalView


class ReminderPlanListView(PortalView, TemplateView):
    permission_required = "compliance.view_reminderplan"
    template_name = "compliance/reminder_plan_list.html"

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        return super().get_context_data(plans=kind_plans(timezone.localdate()), **kwargs)


class ReminderPlanView(PortalView, View):
    """The plan of one kind: a form filled with what is in force, and every decision before."""

    permission_required = "compliance.add_reminderplan"

    def get(self, request: HttpRequest, kind: str) -> HttpResponse:
        plan = plan_book().plan(self._known(kind), timezone.localdate())
        if "own" in request.GET:
            plan = own_plan(kind, timezone.localdate())
        initial = {name: getattr(plan, name) for name in PLAN_FIELDS}
        form = ReminderPlanForm(kind=kind, initial={**initial, "effective_from": timezone.localdate()})
        return self._page(kind, form)

    def post(self, request: HttpRequest, kind: str) -> HttpResponse:
        form = ReminderPlanForm(request.POST, kind=self._known(kind))
        if form.is_valid():
            try:
                decided = reminder_plan_decide(by=request.user, decided_at=timezone.now(), **form.decided)
            except SubmissionRefused as refused:
                add_refusals(form, refused)
            else:
                others = f" and {len(decided) - 1} more" if len(decided) > 1 else ""
                since = form.cleaned_data["effective_from"]
                messages.success(request, f"{kind_in_words(kind)}{others}: the plan holds from {since}.")
                return redirect("reminder-plan-list")
        return self._page(kind, form)

    def _known(self, kind: str) -> str:
        if kind not in PLANNED_KINDS:
            raise Http404
        return kind

    def _page(self, kind: str, form: ReminderPlanForm) -> HttpResponse:
        today = timezone.localdate()
        plan = plan_book().plan(kind, today)
        context = {
            "form": form,
            "kind": kind,
            "name": kind_in_words(kind),
            "plan": plan,
            "today": today,
            "own": own_plan(kind, today),
            "history": list(plan_history(kind)),
        }
        return render(self.request, "compliance/reminder_plan_form.html", context)
