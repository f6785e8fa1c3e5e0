"""A person's own reminders, and for the officer every e-mail that went out or didn't."""

from typing import Any

from django.contrib import messages
from django.db.models import QuerySet
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils import timezone
from django.views.generic import View

from compliance.models import Reminder
from compliance.selectors.reminders import LOG_CHOICES, inbox, reminder_log, unread_reminder_count
from compliance.services.reminders import reminder_mark_read, reminder_retry, reminders_mark_all_read
from portal.web.views import PortalListView, PortalView


class ReminderListView(PortalListView):
    """The inbox. Everybody who sees obligations has one, and sees nobody else's."""

    permission_required = "compliance.view_obligation"
    template_name = "compliance/reminder_list.html"
    context_object_name = "reminders"

    def get_queryset(self) -> QuerySet[Reminder]:
        return inbox(self.request.user)

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        return super().get_context_data(unread=unread_reminder_count(self.request.user), **kwargs)


class ReminderReadView(PortalView, View):
    """Opens what a reminder is about, and notes that it was read."""

    permission_required = "compliance.view_obligation"
    http_method_names = ("post",)

    def post(self, request: HttpRequest, pk: int) -> HttpResponse:
        reminder = get_object_or_404(Reminder, pk=pk, user=request.user)
        reminder_mark_read(by=request.user, reminder=reminder, read_at=timezone.now())
        return redirect("reminder-list")


class ReminderReadAllView(PortalView, View):
    permission_required = "compliance.view_obligation"
    http_method_names = ("post",)

    def post(self, request: HttpRequest) -> HttpResponse:
        reminders_mark_all_read(by=request.user, read_at=timezone.now())
        return redirect("reminder-list")


class ReminderLogView(PortalListView):
    """Every e-mail to everyone, with what became of it."""

    permission_required = "compliance.view_reminder"
    template_name = "compliance/reminder_log.html"
    context_object_name = "reminders"

    @property
    def state(self) -> str:
        """The state asked for; none if it isn't one."""
        asked = self.request.GET.get("state", "")
        return asked if asked in dict(LOG_CHOICES) else ""

    def get_queryset(self) -> QuerySet[Reminder]:
        return reminder_log(state=self.state, search=self.query)

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        return super().get_context_data(state=self.state, states=LOG_CHOICES, **kwargs)


class ReminderRetryView(PortalView, View):
    permission_required = "compliance.change_reminder"
    http_method_names = ("post",)

    def post(self, request: HttpRequest, pk: int) -> HttpResponse:
        reminder = reminder_retry(by=request.user, reminder=get_object_or_404(Reminder, pk=pk))
        messages.success(request, f"Waiting to be sent to {reminder.recipient_email}.")
        return redirect("reminder-log")
