"""Acknowledging reminders: in the portal, and by the link of an e-mail, which acts when its button is pressed alone."""

from django.contrib import messages
from django.contrib.auth.decorators import login_not_required
from django.core.signing import BadSignature
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods
from django.views.generic import View

from compliance.forms.acknowledgements import AcknowledgementForm
from compliance.models import AcknowledgementWay, Obligation, Reminder
from compliance.selectors.acknowledge_links import link_items
from compliance.services.reminders import reminder_acknowledge, reminders_of
from portal.web.views import PortalView


class AcknowledgeView(PortalView, View):
    """Notes that a person knows of a reminder of theirs."""

    permission_required = "compliance.view_obligation"
    http_method_names = ("post",)

    def post(self, request: HttpRequest, pk: int) -> HttpResponse:
        reminder = get_object_or_404(Reminder.objects.select_related("user"), pk=pk, user=request.user)
        form = AcknowledgementForm(request.POST)
        if not form.is_valid():
            messages.error(request, form.errors["note"][0])
        else:
            reminder_acknowledge(
                reminder=reminder,
                way=AcknowledgementWay.PORTAL,
                note=form.cleaned_data["note"],
                acknowledged_at=timezone.now(),
            )
            messages.success(request, "Acknowledged.")
        if "note" in request.POST and (obligation := _obligation(reminder)):
            return redirect("obligation-detail", obligation.pk)
        return redirect("reminder-list")


@login_not_required
@never_cache
@require_http_methods(["GET", "HEAD", "POST"])
def acknowledge_by_link(request: HttpRequest, token: str) -> HttpResponse:
    """Show what an e-mail's link is about, and acknowledge it when asked to; following the link alone does nothing."""
    try:
        reminders = reminders_of(token)
    except BadSignature as error:
        raise Http404 from error
    if not reminders:
        raise Http404
    form = AcknowledgementForm(request.POST if request.method == "POST" else None)
    if form.is_bound and form.is_valid():
        for reminder in reminders:
            reminder_acknowledge(
                reminder=reminder,
                way=AcknowledgementWay.LINK,
                note=form.cleaned_data["note"],
                acknowledged_at=timezone.now(),
            )
        return redirect(request.path)
    items = link_items(reminders)
    context = {
        "items": items,
        "form": form,
        "recipient": reminders[0],
        "is_to_acknowledge": any(item.is_owed and not item.acknowledged_at for item in items),
    }
    response = render(request, "compliance/acknowledge_link.html", context)
    response["X-Robots-Tag"] = "noindex"
    response["Referrer-Policy"] = "no-referrer"
    return response


def _obligation(reminder: Reminder) -> Obligation | None:
    return Obligation.objects.filter(key=reminder.owed_key).first()
