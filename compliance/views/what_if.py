"""The what-if page: a history that somebody lays out, and what the law would make of it.

The state is the request's alone. A history that fits goes into the address, so that it can be kept, reloaded and
passed on; a longer one is answered where it was sent.
"""

import re
from typing import Any
from urllib.parse import urlencode

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.generic import View

from compliance.forms.what_if.links import packed, unpacked
from compliance.forms.what_if.page import OPEN_ROWS_MAX, FactRow, WhatIfPage, refusal_in_words
from compliance.rulebook.document import Document, document_json
from compliance.rulebook.errors import InvalidInput
from compliance.rulebook.facts import FactKind
from compliance.rulebook.parse import parse_json
from compliance.selectors.fact_words import FACT_GROUPS, FACT_KINDS
from compliance.selectors.what_if import (
    CaseRefused,
    WhatIf,
    appliance_case,
    example_case,
    what_if,
)
from compliance.selectors.what_if_chart import what_if_chart
from compliance.views.events.filing import read_number
from jobs.models import Appliance
from portal.web.charts import draw
from portal.web.views import PortalView

ROW_ACTION = re.compile(r"(change|remove)-(\d{1,6})", re.ASCII)


class WhatIfView(PortalView, View):
    """Shows a history from the address or from an appliance's records, and answers the one that is sent."""

    permission_required = ("compliance.view_obligation", "jobs.view_appliance", "jobs.view_serviceevent")

    def get(self, request: HttpRequest) -> HttpResponse:
        appliance = self.appliance
        if text := request.GET.get("case"):
            return self._answer(lambda: unpacked(text), appliance)
        if "example" in request.GET:
            return self._answer(lambda: example_case(timezone.localdate()), None)
        if appliance:
            return self._answer(lambda: appliance_case(appliance, timezone.now()), appliance)
        return self._show(WhatIfPage.blank(timezone.localdate()))

    def post(self, request: HttpRequest) -> HttpResponse:
        do = request.POST.get("do", "")
        if do == "read":
            return self._read_json(request.POST.get("json", ""))
        if do == "add" or ROW_ACTION.fullmatch(do):
            return self._change_rows(WhatIfPage.of_post(request.POST, is_asked=False), do)
        page = WhatIfPage.of_post(request.POST, is_asked=True)
        try:
            result = what_if(page.case())
        except CaseRefused as refused:
            page.refuse(refused)
            return self._show(page)
        return self._to_answer(result)

    @property
    def appliance(self) -> Appliance | None:
        """The appliance whose records the history began with, if it did."""
        pk = read_number(self.request.POST.get("appliance") or self.request.GET.get("appliance"))
        return Appliance.objects.select_related("site__customer").filter(pk=pk).first() if pk else None

    def _answer(self, read: Any, appliance: Appliance | None) -> HttpResponse:
        """Show a history that comes whole, with its answer; or what is wrong with it."""
        try:
            result = what_if(read())
        except (CaseRefused, InvalidInput) as error:
            page = WhatIfPage.blank(timezone.localdate())
            page.refuse(error if isinstance(error, CaseRefused) else CaseRefused([error]))
            return self._show(page)
        return self._show(WhatIfPage.of_case(result.case), result, appliance)

    def _to_answer(self, result: WhatIf) -> HttpResponse:
        address = packed(result.case)
        if not address:
            return self._show(WhatIfPage.of_case(result.case), result, self.appliance)
        return redirect(f"{_link(address, self.appliance)}#answer")

    def _read_json(self, text: str) -> HttpResponse:
        try:
            result = what_if(parse_json(text))
        except (CaseRefused, InvalidInput) as error:
            errors = error.errors if isinstance(error, CaseRefused) else (error,)
            page = WhatIfPage.of_post(self.request.POST, is_asked=False)
            messages = [f"{one.field}: {refusal_in_words(one)}" for one in errors]
            return self._show(page, json=text, json_errors=messages)
        return self._to_answer(result)

    def _change_rows(self, page: WhatIfPage, do: str) -> HttpResponse:
        """Add, open or drop a row: as a whole page, or as the row alone where a script asked."""
        row: FactRow | None = None
        refusal = ""
        action = ROW_ACTION.fullmatch(do)
        kind = self.request.POST.get("new_kind", "")
        if action and action[1] == "remove":
            page.remove(int(action[2]))
        elif not page.may_open:
            row = page.row(int(action[2])) if action else None
            refusal = (
                f"Expected at most {OPEN_ROWS_MAX} facts open at once. Ask first: those that are fine close."
            )
        elif action:
            row = page.open(int(action[2]))
        elif kind in tuple(FactKind) and page.has_room:
            row = page.add(FactKind(kind))
        if self.request.htmx:
            return render(
                self.request, "compliance/partials/what_if_row.html", {"row": row, "refusal": refusal}
            )
        return self._show(page, refusal=refusal)

    def _show(
        self,
        page: WhatIfPage,
        result: WhatIf | None = None,
        appliance: Appliance | None = None,
        **context: Any,
    ) -> HttpResponse:
        address = packed(result.case) if result else ""
        context = {
            "page": page,
            "result": result,
            "appliance": appliance or self.appliance,
            "charts": _charts(result),
            "link": self.request.build_absolute_uri(_link(address)) if address else "",
            "kinds": [
                (name, [(kind.value, FACT_KINDS[kind]) for kind in kinds]) for name, kinds in FACT_GROUPS
            ],
            "json": document_json(result.case) if result else "",
            **context,
        }
        return render(self.request, "compliance/what_if.html", context)


def _charts(result: WhatIf | None) -> list[tuple[str, str]]:
    """The sketch of an answer for a desk and for a phone."""
    chart = what_if_chart(result) if result else None
    return (
        [("chart-broad", draw(chart, width=560)), ("chart-narrow", draw(chart, width=360))] if chart else []
    )


def _link(address: str, appliance: Appliance | None = None) -> str:
    query: Document = {"case": address}
    if appliance:
        query["appliance"] = appliance.pk
    return f"{reverse('what-if')}?{urlencode(query)}"
