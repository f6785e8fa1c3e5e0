"""What the registers' pages share: a form whose service may refuse, and a page that tells its row's history."""

from typing import Any

from django.contrib import messages
from django.db import models, transaction
from django.forms import BaseForm
from django.http import HttpResponse
from django.shortcuts import redirect
from django.views.generic import DetailView, FormView

from jobs.errors import SubmissionRefused
from jobs.forms.refusals import add_refusals
from jobs.selectors.history import register_history
from portal.web.views import PortalView

Crumb = tuple[str, str]


class RegisterFormView(PortalView, FormView):
    """Hands a form to a service; what the service refuses goes back to the fields.

    Subclasses name ``heading``, ``done`` (with {} for the row), the way to the page (``crumbs``, of which the last is
    where Cancel leads), and ``save``.
    """

    template_name = "jobs/register_form.html"
    heading = ""
    done = ""
    button = "Save"

    def save(self, form: BaseForm) -> models.Model:
        """Call the service; return the row whose page follows."""
        raise NotImplementedError

    def crumbs(self) -> list[Crumb]:
        """Return (label, address) of the pages above this one."""
        raise NotImplementedError

    def done_url(self, row: models.Model) -> str:
        """Return the page that follows."""
        raise NotImplementedError

    def form_valid(self, form: BaseForm) -> HttpResponse:
        try:
            with transaction.atomic():
                row = self.save(form)
        except SubmissionRefused as error:
            add_refusals(form, error)
            return self.form_invalid(form)
        messages.success(self.request, self.done.format(row))
        return redirect(self.done_url(row))

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        crumbs = self.crumbs()
        return super().get_context_data(
            heading=self.heading, button=self.button, crumbs=crumbs, cancel_url=crumbs[-1][1], **kwargs
        )


class RegisterDetailView(PortalView, DetailView):
    """A register's row with the history of its changes."""

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        return super().get_context_data(history=register_history(self.object), **kwargs)
