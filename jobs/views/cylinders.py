"""Pages of cylinders, their purchases and their shipments."""

from datetime import timedelta
from typing import Any

from django.core.paginator import Paginator
from django.db import models
from django.db.models import QuerySet
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.utils import timezone
from django.utils.functional import cached_property

from compliance.rulebook.tables import Row
from jobs.forms.cylinders import CylinderForm, NewCylinderForm
from jobs.forms.stock import PaperForm, PurchaseForm, SaleForm, ShipmentForm
from jobs.models import Cylinder, CylinderKind, StockMovement
from jobs.selectors.container_disposal import container_disposal_row
from jobs.selectors.contamination import marked_mixed
from jobs.selectors.cylinder_life import (
    cylinder_life,
    last_weighing,
    requalification_in_words,
    weighing_in_words,
)
from jobs.selectors.cylinder_state import cylinder_state, heel_removal_row, requalification_status
from jobs.selectors.cylinders import cylinder_list, requalification_due_on
from jobs.selectors.requalification import condemned, last_test
from jobs.services.cylinders import cylinder_change, cylinder_register
from jobs.services.stock import purchase_record, shipment_record
from jobs.services.stock_sales import BuyerEntry, sale_record
from jobs.views.registers import Crumb, RegisterDetailView, RegisterFormView
from portal.web.views import PAGE_SIZE, PortalListView

TRANSPORT = (
    "Carry cylinders upright and secured, valves closed and capped, in a ventilated place, and never overfilled: the "
    "relief valve opens when a full one warms. Rules of transport and the cylinder's own markings govern."
)

# Within how many days a list of cylinders due for requalification reaches.
DUE_DAYS = ("0", "60", "90")


def cylinder_crumbs(cylinder: Cylinder | None = None) -> list[Crumb]:
    """Return the way to a cylinder's page, or to the list."""
    crumbs = [("Cylinders", reverse("cylinder-list"))]
    return [*crumbs, (str(cylinder), cylinder_url(cylinder))] if cylinder else crumbs


def cylinder_url(cylinder: Cylinder) -> str:
    """Return a cylinder's page."""
    return reverse("cylinder-detail", args=[cylinder.pk])


class CylinderListView(PortalListView):
    permission_required = "jobs.view_cylinder"
    template_name = "jobs/cylinder_list.html"
    context_object_name = "cylinders"

    @property
    def due_days(self) -> int | None:
        """Within how many days the requalification is due, where the list is narrowed to that."""
        asked = self.request.GET.get("due", "")
        return int(asked) if asked in DUE_DAYS else None

    def get_queryset(self) -> QuerySet[Cylinder]:
        due_by = timezone.localdate() + timedelta(days=self.due_days) if self.due_days is not None else None
        return cylinder_list(search=self.query, due_by=due_by)

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        context = super().get_context_data(**kwargs)
        today = timezone.localdate()
        ids = [cylinder.pk for cylinder in context["cylinders"]]
        mixed, void = marked_mixed(ids, on=today), condemned(ids, on=today)
        for cylinder in context["cylinders"]:
            cylinder.due_on = requalification_due_on(cylinder)
            cylinder.requalification = requalification_status(
                cylinder.due_on, today=today, is_condemned=cylinder.pk in void
            )
            cylinder.is_marked_mixed = cylinder.pk in mixed
        return {**context, "due_days": self.due_days, "due_choices": DUE_DAYS}


class CylinderDetailView(RegisterDetailView):
    permission_required = "jobs.view_cylinder"
    template_name = "jobs/cylinder_detail.html"
    context_object_name = "cylinder"
    queryset = Cylinder.objects.select_related("holder")

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        state = cylinder_state(self.object, today=timezone.localdate())
        page_obj = Paginator(cylinder_life(self.object), PAGE_SIZE).get_page(self.request.GET.get("page"))
        weighed = last_weighing(self.object)
        return super().get_context_data(
            state=state,
            page_obj=page_obj,
            heel_rule=heel_removal_row(timezone.localdate()),
            container_rule=self._container_rule(),
            weighed=weighed,
            weighed_words=weighing_in_words(weighed) if weighed else "",
            last_test=(test := last_test(self.object)),
            last_test_words=f"{test.happened_on}: {requalification_in_words(test)}" if test else "",
            **kwargs,
        )

    def _container_rule(self) -> Row | None:
        if self.object.kind != CylinderKind.DISPOSABLE:
            return None
        return container_disposal_row(self.object, on=timezone.localdate())


class CylinderAddView(RegisterFormView):
    permission_required = "jobs.add_cylinder"
    template_name = "jobs/cylinder_form.html"
    form_class = NewCylinderForm
    heading = "Add a cylinder"
    button = "Add the cylinder"
    done = "Cylinder {} is on record."

    def save(self, form: NewCylinderForm) -> Cylinder:
        return cylinder_register(by=self.request.user, entry=form.entry())

    def crumbs(self) -> list[Crumb]:
        return cylinder_crumbs()

    def done_url(self, row: Cylinder) -> str:
        return cylinder_url(row)


class CylinderChangeView(CylinderAddView):
    permission_required = "jobs.change_cylinder"
    form_class = CylinderForm
    heading = "Change the cylinder"
    button = "Save"
    done = "Cylinder {} is changed."

    @cached_property
    def cylinder(self) -> Cylinder:
        """The cylinder that is changed."""
        return get_object_or_404(Cylinder, pk=self.kwargs["pk"])

    def get_form_kwargs(self) -> dict[str, Any]:
        return {**super().get_form_kwargs(), "instance": self.cylinder}

    def save(self, form: CylinderForm) -> Cylinder:
        return cylinder_change(by=self.request.user, cylinder=self.cylinder, **form.cleaned_data)

    def crumbs(self) -> list[Crumb]:
        return cylinder_crumbs(self.cylinder)


class CylinderRecordFormView(RegisterFormView):
    """Files one record of one cylinder; ``caution`` stands above the form."""

    template_name = "jobs/cylinder_record_form.html"
    done = "Filed: {}."
    caution = ""

    def about(self) -> str:
        """Say in a sentence what the form is about, where the cylinder alone doesn't tell."""
        return ""

    @cached_property
    def cylinder(self) -> Cylinder:
        """The cylinder that it is about."""
        return get_object_or_404(Cylinder.objects.select_related("holder"), pk=self.kwargs["cylinder_pk"])

    def get_form_kwargs(self) -> dict[str, Any]:
        return {**super().get_form_kwargs(), "cylinder": self.cylinder}

    def get_initial(self) -> dict[str, Any]:
        return {"happened_on": timezone.localdate()}

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        state = cylinder_state(self.cylinder, today=timezone.localdate())
        return super().get_context_data(
            cylinder=self.cylinder,
            state=state,
            caution=self.caution,
            about=self.about(),
            **kwargs,
        )

    def crumbs(self) -> list[Crumb]:
        return cylinder_crumbs(self.cylinder)

    def done_url(self, row: models.Model) -> str:
        return cylinder_url(self.cylinder)


class StockView(CylinderRecordFormView):
    """A movement of one cylinder's contents that no service event makes."""

    permission_required = "jobs.add_stockmovement"
    caution = TRANSPORT


class TravelView(StockView):
    """A movement that the cylinder may go along with."""

    def get_initial(self) -> dict[str, Any]:
        return {**super().get_initial(), "moved_by": self.request.user.full_name}


class PurchaseAddView(StockView):
    form_class = PurchaseForm
    heading = "File a purchase"
    button = "File the purchase"
    caution = (
        "Read the cylinder's own markings before you take it over, and weigh it: one that came overfilled goes back. "
        "Keep it upright, cool and in a ventilated place, as local codes and the refrigerant's safety data sheet ask."
    )

    def save(self, form: PaperForm) -> StockMovement:
        return purchase_record(by=self.request.user, cylinder=self.cylinder, **form.cleaned_data)


class ShipmentAddView(TravelView):
    form_class = ShipmentForm
    heading = "File a shipment"
    button = "File the shipment"

    def save(self, form: PaperForm) -> StockMovement:
        shipped = {name: value for name, value in form.cleaned_data.items() if name != "extent"}
        return shipment_record(by=self.request.user, cylinder=self.cylinder, **shipped)


class SaleAddView(TravelView):
    form_class = SaleForm
    heading = "File a sale"
    button = "File the sale"

    def save(self, form: PaperForm) -> StockMovement:
        fields = form.cleaned_data
        names = ("technician_name", "certification_type", "certification_number", "proof", "basis")
        buyer = BuyerEntry(
            name=fields.pop("buyer_name"),
            is_in_the_union=fields.pop("is_in_the_union", False),
            **{name: fields.pop(name) for name in names},
        )
        return sale_record(by=self.request.user, cylinder=self.cylinder, buyer=buyer, **fields)
