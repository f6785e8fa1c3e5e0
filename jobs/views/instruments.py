"""Pages of scales, gauges and leak detectors, and of their calibrations."""

from typing import Any

from django.core.paginator import Paginator
from django.db.models import QuerySet
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.utils import timezone
from django.utils.functional import cached_property

from jobs.forms.instruments import CalibrationForm, CorrectionForm, InstrumentForm
from jobs.models import Calibration, Instrument, InstrumentKind
from jobs.selectors.instruments import (
    STANDING_CALIBRATION,
    calibration_on,
    calibration_status,
    instrument_calibrations,
    instrument_list,
)
from jobs.services.calibrations import calibration_correct, calibration_record
from jobs.services.instruments import instrument_change, instrument_register
from jobs.views.registers import Crumb, RegisterDetailView, RegisterFormView
from portal.web.views import PAGE_SIZE, PortalListView


def instrument_crumbs(instrument: Instrument | None = None) -> list[Crumb]:
    """Return the way to an instrument's page, or to the list."""
    crumbs = [("Instruments", reverse("instrument-list"))]
    return [*crumbs, (str(instrument), instrument_url(instrument))] if instrument else crumbs


def instrument_url(instrument: Instrument) -> str:
    """Return an instrument's page."""
    return reverse("instrument-detail", args=[instrument.pk])


class InstrumentListView(PortalListView):
    permission_required = "jobs.view_instrument"
    template_name = "jobs/instrument_list.html"
    context_object_name = "instruments"

    def get_queryset(self) -> QuerySet[Instrument]:
        return instrument_list(search=self.query, kind=self.request.GET.get("kind", ""))

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        context = super().get_context_data(**kwargs)
        today = timezone.localdate()
        for instrument in context["instruments"]:
            instrument.calibration_status = calibration_status(instrument.due_on, today=today)
        kind = self.request.GET.get("kind", "")
        return context | {"kinds": InstrumentKind.choices, "kind": kind}


class InstrumentDetailView(RegisterDetailView):
    permission_required = "jobs.view_instrument"
    template_name = "jobs/instrument_detail.html"
    context_object_name = "instrument"
    queryset = Instrument.objects.all()

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        today = timezone.localdate()
        current = calibration_on(self.object, today)
        pages = Paginator(instrument_calibrations(self.object), PAGE_SIZE)
        return super().get_context_data(
            current=current,
            calibration_status=calibration_status(current.due_on if current else None, today=today),
            page_obj=pages.get_page(self.request.GET.get("page")),
            **kwargs,
        )


class InstrumentAddView(RegisterFormView):
    permission_required = "jobs.add_instrument"
    form_class = InstrumentForm
    heading = "Add a scale, gauge or detector"
    button = "Add it"
    done = "{} is on record. Add its calibration next."

    def save(self, form: InstrumentForm) -> Instrument:
        return instrument_register(by=self.request.user, **form.cleaned_data)

    def crumbs(self) -> list[Crumb]:
        return instrument_crumbs()

    def done_url(self, row: Instrument) -> str:
        return instrument_url(row)


class InstrumentChangeView(InstrumentAddView):
    permission_required = "jobs.change_instrument"
    heading = "Change the instrument"
    button = "Save"
    done = "{} is changed."

    @cached_property
    def instrument(self) -> Instrument:
        """The instrument that is changed."""
        return get_object_or_404(Instrument, pk=self.kwargs["pk"])

    def get_form_kwargs(self) -> dict[str, Any]:
        return {**super().get_form_kwargs(), "instance": self.instrument}

    def save(self, form: InstrumentForm) -> Instrument:
        instrument = Instrument.objects.get(pk=self.instrument.pk)
        return instrument_change(by=self.request.user, instrument=instrument, **form.cleaned_data)

    def crumbs(self) -> list[Crumb]:
        return instrument_crumbs(self.instrument)


class CalibrationAddView(RegisterFormView):
    permission_required = "jobs.add_calibration"
    form_class = CalibrationForm
    heading = "Add a calibration"
    button = "Add the calibration"
    done = "Calibration {} is on record."

    @cached_property
    def instrument(self) -> Instrument:
        """The instrument that was calibrated."""
        return get_object_or_404(Instrument, pk=self.kwargs["instrument_pk"])

    def save(self, form: CalibrationForm) -> Calibration:
        return calibration_record(by=self.request.user, instrument=self.instrument, **form.cleaned_data)

    def crumbs(self) -> list[Crumb]:
        return instrument_crumbs(self.instrument)

    def done_url(self, row: Calibration) -> str:
        return instrument_url(self.instrument)


class CalibrationCorrectView(RegisterFormView):
    permission_required = "jobs.add_calibration"
    form_class = CorrectionForm
    heading = "Correct a calibration"
    button = "File the correction"
    done = "Filed: calibration {}."

    @cached_property
    def calibration(self) -> Calibration:
        """The record that stands."""
        rows = Calibration.objects.filter(STANDING_CALIBRATION).select_related("instrument")
        return get_object_or_404(rows, pk=self.kwargs["pk"])

    def get_form_kwargs(self) -> dict[str, Any]:
        return {**super().get_form_kwargs(), "instance": self.calibration}

    def get_initial(self) -> dict[str, Any]:
        return {"correction_reason": "", "is_void": False}

    def save(self, form: CorrectionForm) -> Calibration:
        typed = dict(form.cleaned_data)
        reason = typed.pop("correction_reason")
        return calibration_correct(by=self.request.user, calibration=self.calibration, reason=reason, **typed)

    def crumbs(self) -> list[Crumb]:
        return instrument_crumbs(self.calibration.instrument)

    def done_url(self, row: Calibration) -> str:
        return instrument_url(self.calibration.instrument)
