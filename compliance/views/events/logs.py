"""Logs of scales: reading one while the form is filled in, adding one to a filed transfer, and the file as it came."""

import re
from typing import Any

from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.http import content_disposition_header
from django.views.generic import View

from compliance.forms.events.logs import LogRowForm, take_in_files
from compliance.forms.events.visit import read_date
from compliance.selectors.event_logs import logged_visit, mass_unit, transfers_for_logs
from compliance.selectors.log_days import LoggedVisit
from compliance.views.events.filing import read_number
from jobs.errors import SubmissionRefused
from jobs.forms.refusals import add_refusals
from jobs.models import MassUnit, Site, Transfer, WeighLog
from jobs.services.log_uploads import LogShelf
from jobs.services.weigh_logs import may_add_log, weigh_log_add
from portal.web.views import PortalView

ROW = re.compile(r"transfers-\d{1,4}")


class WeighLogReadView(PortalView, View):
    """The fragment of one transfer's row that holds its log: keeps a file, reads it, asks what it leaves open."""

    permission_required = "jobs.add_weighlog"

    def post(self, request: HttpRequest) -> HttpResponse:
        row = request.POST.get("row", "")
        if not ROW.fullmatch(row):
            return HttpResponse("Expected the name of a row, such as transfers-0.", status=400)
        data, refused = take_in_files(request.POST, request.FILES, by=request.user, now=timezone.now())
        unit = MassUnit.KG if request.POST.get("unit") == MassUnit.KG else MassUnit.LB
        filed = self._filed_transfer()
        form = LogRowForm(
            data,
            prefix=row,
            shelf=LogShelf(request.user),
            unit=unit,
            visit=logged_visit(filed.event) if filed else self._visit(),
            filed=filed,
        )
        form.is_valid()
        for box, message in refused.items():
            form.add_error(box.removeprefix(f"{row}-"), message)
        return render(request, "compliance/partials/event_row_log.html", {"form": form, "slot": form.slot})

    def _visit(self) -> LoggedVisit | None:
        """The visit that is being filled in, as far as its page says."""
        site = Site.objects.filter(pk=read_number(self.request.POST.get("site"))).first()
        return LoggedVisit(site, read_date(self.request.POST.get("happened_on"))) if site else None

    def _filed_transfer(self) -> Transfer | None:
        """The filed transfer that the log is for, if it is for one that this person may add it to."""
        pk = read_number(self.request.POST.get("transfer"))
        transfer = transfers_for_logs().filter(pk=pk).first() if pk else None
        return transfer if transfer and may_add_log(self.request.user, transfer.event) else None


class WeighLogAddView(PortalView, View):
    """Adds the scale's log to a transfer that is filed already."""

    permission_required = "jobs.add_weighlog"
    transfer: Transfer

    def get(self, request: HttpRequest, pk: int) -> HttpResponse:
        self._find(pk)
        return self._show(self._form(None))

    def post(self, request: HttpRequest, pk: int) -> HttpResponse:
        self._find(pk)
        data, refused = take_in_files(request.POST, request.FILES, by=request.user, now=timezone.now())
        form = self._form(data)
        is_valid = form.is_valid()
        for box, message in refused.items():
            form.add_error(box.removeprefix("transfers-0-"), message)
        if is_valid and not refused:
            if form.slot.entry is None:
                form.add_error("log_file", "Choose the file of the scale's log.")
            elif request.POST.get("seen") == form.slot.token:
                return self._add(form)
        return self._show(form)

    def _add(self, form: LogRowForm) -> HttpResponse:
        try:
            weigh_log_add(
                by=self.request.user,
                transfer=self.transfer,
                entry=form.slot.entry,
                attached_at=timezone.now(),
            )
        except SubmissionRefused as error:
            add_refusals(form, error)
            return self._show(form)
        address = reverse("event-detail", args=[self.transfer.event_id])
        return redirect(f"{address}#log-{self.transfer.pk}")

    def _find(self, pk: int) -> None:
        self.transfer = get_object_or_404(transfers_for_logs(), pk=pk)
        if not may_add_log(self.request.user, self.transfer.event):
            raise PermissionDenied

    def _form(self, data: Any) -> LogRowForm:
        return LogRowForm(
            data,
            prefix="transfers-0",
            shelf=LogShelf(self.request.user),
            unit=mass_unit(self.transfer.event),
            visit=logged_visit(self.transfer.event),
            filed=self.transfer,
        )

    def _show(self, form: LogRowForm) -> HttpResponse:
        context = {"form": form, "slot": form.slot, "transfer": self.transfer, "event": self.transfer.event}
        return render(self.request, "compliance/event_log_add.html", context)


class WeighLogDownloadView(PortalView, View):
    """The file as it came, byte by byte; never shown by the browser as anything but text."""

    permission_required = "jobs.view_weighlog"

    def get(self, request: HttpRequest, pk: int) -> HttpResponse:
        log = get_object_or_404(WeighLog.objects.select_related("file"), pk=pk)
        response = HttpResponse(log.file.content, content_type="text/plain")
        response["Content-Disposition"] = content_disposition_header(as_attachment=True, filename=log.name)
        response["X-Content-Type-Options"] = "nosniff"
        return response
