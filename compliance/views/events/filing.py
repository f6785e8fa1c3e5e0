"""Filing a service event: choosing the appliance, the form, and how much may be added on its date."""

from typing import Any

from django.db.models import QuerySet
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.generic import View

from compliance.forms.events.initial import new_visit
from compliance.forms.events.logs import take_in_files
from compliance.forms.events.opening import OpeningForm, opening_of
from compliance.forms.events.page import EventPage
from compliance.forms.events.visit import read_date
from compliance.selectors.event_form import event_background
from compliance.selectors.event_pages import appliances_to_file_for, obligations_due
from compliance.selectors.headroom import appliance_headroom
from compliance.selectors.opening import opening_advice
from compliance.selectors.recovery import duties_at
from jobs.errors import SubmissionRefused
from jobs.models import Appliance, ServiceEvent, Technician
from jobs.selectors.appliances import charge_in_force
from jobs.selectors.instruments import recovery_machine_list
from jobs.services.entries import local_date
from jobs.services.events import service_event_file
from jobs.services.log_uploads import LogShelf
from portal.web.views import PortalListView, PortalView

# The digits of the largest key that a database gives (2**63 - 1).
NUMBER_DIGITS_MAX = 19


class EventPickView(PortalListView):
    """Which appliance: the technician's latest ones first, or those that match the search."""

    permission_required = "jobs.add_serviceevent"
    template_name = "compliance/event_pick.html"
    context_object_name = "appliances"

    def get_queryset(self) -> QuerySet[Appliance]:
        return appliances_to_file_for(
            timezone.now(), search=self.query, technician=own_technician(self.request)
        )


class EventAddView(PortalView, View):
    """One visit to one appliance; ``?settles=`` opens the sections that an obligation of that kind asks for."""

    permission_required = "jobs.add_serviceevent"

    def get(self, request: HttpRequest, appliance_pk: int) -> HttpResponse:
        return show_event_form(request, self._page(appliance_pk))

    def post(self, request: HttpRequest, appliance_pk: int) -> HttpResponse:
        data, refused = take_in_files(request.POST, request.FILES, by=request.user, now=timezone.now())
        page = self._page(appliance_pk, data, refused)
        if page.is_valid():
            try:
                filing = service_event_file(
                    by=request.user, submission=page.submission(), filed_at=timezone.now()
                )
            except SubmissionRefused as error:
                page.refuse(error)
            else:
                answer = "again" if filing.was_already_filed else "1"
                return redirect(f"{reverse('event-detail', args=[filing.event.pk])}?filed={answer}")
        return show_event_form(request, page)

    def _page(self, appliance_pk: int, data: Any = None, refused: Any = None) -> EventPage:
        appliance = get_object_or_404(Appliance.objects.select_related("site__customer"), pk=appliance_pk)
        today = local_date(appliance.site, timezone.now())
        technician = own_technician(self.request)
        background = event_background(appliance, on=today, technician=technician)
        initial = new_visit(
            background,
            technician=technician,
            today=today,
            settles=self.request.GET.get("settles", ""),
        )
        shelf = LogShelf(self.request.user)
        return EventPage(background, initial, data, today=today, shelf=shelf, refused_files=refused)


class EventHeadroomView(PortalView, View):
    """The fragment that says how much may be added on ``?happened_on=``, ``?without=`` an event being amended."""

    permission_required = "jobs.view_serviceevent"

    def get(self, request: HttpRequest, pk: int) -> HttpResponse:
        appliance = get_object_or_404(Appliance.objects.select_related("site__customer"), pk=pk)
        on = read_date(request.GET.get("happened_on") or request.GET.get("on"))
        amended = read_number(request.GET.get("without"))
        without = appliance.service_events.filter(pk=amended).first() if amended else None
        headroom = appliance_headroom(appliance, on, without=without) if on else None
        return render(request, "compliance/partials/event_headroom.html", {"headroom": headroom})


class EventEvacuationView(PortalView, View):
    """The fragment that says what to evacuate to before an opening as the form's boxes describe it so far."""

    permission_required = "jobs.view_serviceevent"

    def get(self, request: HttpRequest, pk: int) -> HttpResponse:
        appliance = get_object_or_404(Appliance.objects.select_related("site"), pk=pk)
        on = read_date(request.GET.get("happened_on")) or local_date(appliance.site, timezone.now())
        form = OpeningForm(request.GET)
        form.offer_machines(recovery_machine_list())
        charge = charge_in_force(appliance, on)
        context = {
            "advice": opening_advice(appliance, charge, opening_of(form), on=on),
            "recovery_duties": duties_at(appliance, charge, on=on),
        }
        return render(request, "compliance/partials/event_evacuation.html", context)


def own_technician(request: HttpRequest) -> Technician | None:
    """The technician whom the signed-in person is, if any."""
    return Technician.objects.filter(user=request.user, is_active=True).first()


def read_number(text: str | None) -> int | None:
    """Read a record's number; nothing where it is none, or longer than any."""
    if not text or len(text) > NUMBER_DIGITS_MAX:
        return None
    return int(text) if text.isascii() and text.isdecimal() else None


def show_event_form(
    request: HttpRequest, page: EventPage, *, amended: ServiceEvent | None = None
) -> HttpResponse:
    """Render the event form, with what helps to fill it in; ``amended`` is the record that it corrects, if any."""
    appliance = page.background.appliance
    on = read_date(page.visit["happened_on"].value())
    context = {
        "page": page,
        "event": amended,
        "appliance": appliance,
        "refrigerant": page.background.refrigerant,
        "full_charge_mg": page.background.full_charge_mg,
        "obligations": obligations_due(timezone.now(), appliance),
        "headroom": appliance_headroom(appliance, on, without=amended) if on else None,
        "advice": opening_advice(
            appliance, page.background.charge, opening_of(page.visit), on=on or page.visit.today
        ),
        "recovery_duties": page.background.recovery_duties,
        "draft_key": f"amendment-{amended.pk}" if amended else f"appliance-{appliance.pk}",
        "cancel_url": reverse("event-detail", args=[amended.pk]) if amended else reverse("event-pick"),
    }
    return render(request, "compliance/event_form.html", context)
