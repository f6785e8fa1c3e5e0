"""Record packs: asking for one, how far it is, and the ZIP."""

import datetime
from typing import Any

from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.generic import View

from compliance.forms.record_packs import SUBJECTS, RecordPackForm
from compliance.models import RecordPack
from compliance.services.packs.runs import record_pack_request, record_pack_retry
from portal.web.views import PortalListView, PortalView, kept_file

PACKS = RecordPack.objects.select_related("customer", "site__customer", "appliance__site", "asked_by")
# What the form offers; anyone may choose another period.
USUAL_PERIOD = datetime.timedelta(days=3 * 366)


class RecordPackListView(PortalListView):
    """The form, filled from the address with ``?appliance=`` and the like, and the packs that are kept."""

    permission_required = "compliance.add_recordpack"
    template_name = "compliance/record_pack_list.html"
    context_object_name = "packs"
    queryset = PACKS
    form: RecordPackForm | None = None

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        return super().get_context_data(form=self.form or self._empty_form(), **kwargs)

    def post(self, request: HttpRequest) -> HttpResponse:
        now = timezone.now()
        self.form = RecordPackForm(request.POST, today=timezone.localdate(now), now=now)
        if not self.form.is_valid():
            return self.get(request)
        chosen = self.form.cleaned_data
        pack = record_pack_request(
            by=request.user,
            subject=self.form.subject,
            happened_from=chosen["happened_from"],
            happened_to=chosen["happened_to"],
            known_at=chosen["known_at"],
            asked_at=now,
        )
        return redirect("record-pack", pack.pk)

    def _empty_form(self) -> RecordPackForm:
        today = timezone.localdate()
        chosen = {name: self.request.GET[name] for name in SUBJECTS if name in self.request.GET}
        period = {"happened_from": today - USUAL_PERIOD, "happened_to": today}
        return RecordPackForm(initial={**period, **chosen}, today=today, now=timezone.now())


class RecordPackView(PortalView, View):
    """A pack: how far it is while it is under way, and what came out."""

    permission_required = "compliance.add_recordpack"

    def get(self, request: HttpRequest, pk: int) -> HttpResponse:
        pack = get_object_or_404(PACKS, pk=pk)
        is_fragment = request.htmx and pack.is_under_way
        template = "partials/record_pack_progress" if is_fragment else "record_pack"
        response = render(request, f"compliance/{template}.html", {"pack": pack})
        if request.htmx and not pack.is_under_way:
            response["HX-Refresh"] = "true"
        return response


class RecordPackRetryView(PortalView, View):
    """Puts a failed pack back into the queue."""

    permission_required = "compliance.add_recordpack"
    http_method_names = ("post",)

    def post(self, request: HttpRequest, pk: int) -> HttpResponse:
        record_pack_retry(pack=get_object_or_404(RecordPack, pk=pk))
        return redirect("record-pack", pk)


class RecordPackFileView(PortalView, View):
    """The ZIP."""

    permission_required = "compliance.add_recordpack"

    def get(self, request: HttpRequest, pk: int) -> HttpResponseBase:
        pack = get_object_or_404(RecordPack.objects.exclude(file=""), pk=pk)
        name = pack.file.name.rpartition("/")[2]
        return kept_file(pack.file, as_attachment=True, content_type="application/zip", filename=name)
