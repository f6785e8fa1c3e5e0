"""Pages that answer questions about refrigerants: pressure and temperature, chart, vapour left, a cylinder's check."""

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.views.generic import FormView

from compliance.rulebook.errors import InvalidInput as UnknownRefrigerant
from compliance.rulebook.refrigerants import find
from jobs.forms.properties import (
    ChartForm,
    CylinderPressureForm,
    QuestionForm,
    ResidualForm,
    SaturationForm,
)
from jobs.physics.errors import InvalidInput
from jobs.physics.pressure_chart import pressure_chart
from jobs.selectors.properties import (
    cylinder_pressure_asked,
    high_service_pressure_psi,
    residual_asked,
    saturation_asked,
)
from portal.web.pdf import asked_paper, render_pdf
from portal.web.views import PortalView

PAGES = (
    ("properties", "Pressure and temperature"),
    ("pressure-chart", "Chart"),
    ("charge-estimate", "Full charge"),
    ("residual", "Vapour left behind"),
    ("cylinder-pressure", "Cylinder pressure"),
)


class QuestionView(PortalView, FormView):
    """Answers a form that is asked by address; what physics refuses is shown at its field."""

    permission_required = "jobs.view_appliance"
    form_class: type[QuestionForm]

    def answer(self, form: QuestionForm) -> Any:
        """Answer the valid form; InvalidInput where there is none."""
        raise NotImplementedError

    def get(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        form = self.get_form()
        answer = self.answered(form) if form.is_bound and form.is_valid() else None
        return self.render_to_response(self.get_context_data(form=form, answer=answer))

    def answered(self, form: QuestionForm) -> Any:
        """Return the answer, or None with the form's field saying why."""
        try:
            form.cleaned_data["refrigerant"] = find(form.cleaned_data["refrigerant"]).designation
            return self.answer(form)
        except (InvalidInput, UnknownRefrigerant) as problem:
            form.add_invalid(problem)
            return None

    def get_form_kwargs(self) -> dict[str, Any]:
        return {"data": self.request.GET if self.is_asked else None, "initial": self.request.GET.dict()}

    @property
    def is_asked(self) -> bool:
        """Whether the address asks more than which refrigerant it will be about."""
        return bool(self.request.GET.keys() - {"refrigerant"})

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        context = super().get_context_data(pages=PAGES, page=self.request.resolver_match.url_name, **kwargs)
        if context.get("answer") is not None:
            designation = context["form"].cleaned_data["refrigerant"]
            context["refrigerant"] = find(designation)
            context["service_pressure_psi"] = high_service_pressure_psi(designation)
        return context


class SaturationView(QuestionView):
    form_class = SaturationForm
    template_name = "jobs/properties.html"

    def answer(self, form: SaturationForm) -> Any:
        asked = form.cleaned_data
        return saturation_asked(
            refrigerant=asked["refrigerant"], at=asked["at"], atmosphere_pa=form.atmosphere_pa
        )


class PressureChartView(QuestionView):
    form_class = ChartForm
    template_name = "jobs/pressure_chart.html"
    column_count = 3

    @property
    def is_asked(self) -> bool:
        return bool(self.request.GET)

    def answer(self, form: ChartForm) -> Any:
        return pressure_chart(form.cleaned_data["refrigerant"], form.atmosphere_pa)

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        chart = kwargs.get("answer")
        columns = chart.columns(self.column_count) if chart else ()
        return super().get_context_data(columns=columns, **kwargs)


class PressureChartPdfView(PressureChartView):
    """The chart on one sheet, letter or ``?paper=a4``; what is wrong with the question is shown on the page."""

    def render_to_response(self, context: dict[str, Any], **kwargs: Any) -> HttpResponse:
        chart = context["answer"]
        if chart is None:
            return super().render_to_response(context, **kwargs)
        content = render_pdf(
            "jobs/print/pressure_chart.html", {**context, "paper": asked_paper(self.request)}
        )
        response = HttpResponse(content, content_type="application/pdf")
        response["Content-Disposition"] = f'inline; filename="pressure-{chart.refrigerant}.pdf"'
        return response


class ResidualView(QuestionView):
    form_class = ResidualForm
    template_name = "jobs/residual.html"

    def answer(self, form: ResidualForm) -> Any:
        asked = form.cleaned_data
        charge = asked["full_charge"]
        return residual_asked(
            refrigerant=asked["refrigerant"],
            pressure=asked["pressure"],
            temperature=asked["temperature"],
            volume=asked["volume"],
            charge_mg=charge.mass_mg if charge else None,
            liquid_pct=asked["liquid_share"],
            atmosphere_pa=form.atmosphere_pa,
        )


class CylinderPressureView(QuestionView):
    form_class = CylinderPressureForm
    template_name = "jobs/cylinder_pressure.html"

    def answer(self, form: CylinderPressureForm) -> Any:
        asked = form.cleaned_data
        return cylinder_pressure_asked(
            refrigerant=asked["refrigerant"],
            temperature=asked["temperature"],
            pressure=asked["pressure"],
            gauge_doubt_psi=asked["gauge_doubt"],
            temperature_doubt_f=asked["temperature_doubt"],
            vapour_drawn_pct=asked["vapour_drawn"],
            atmosphere_pa=form.atmosphere_pa,
        )
