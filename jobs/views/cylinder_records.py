"""Pages that file a record of a cylinder's life, and those that undo one."""

from typing import Any

from django.http import Http404
from django.shortcuts import get_object_or_404
from django.utils import timezone
from django.utils.functional import cached_property

from compliance.rulebook.masses import format_mass
from jobs.forms.cylinder_records import (
    ContaminationForm,
    HeelForm,
    MoveForm,
    PeriodForm,
    ReasonForm,
    ReceiptForm,
    RequalificationTestForm,
    WeighForm,
)
from jobs.models import (
    Cylinder,
    CylinderPlace,
    CylinderRecord,
    CylinderWeighing,
    MoveReason,
    ShipmentReceipt,
    StockMovement,
)
from jobs.selectors.cylinder_life import weighing_in_words
from jobs.selectors.ledger import cylinder_contents
from jobs.selectors.receipts import receipt_in_words, receipts_with_shipments, received_shipment
from jobs.selectors.weighings import usual_scale, weighed_stock
from jobs.services.cylinder_conditions import contamination_record, requalification_period_record
from jobs.services.cylinder_moves import MoveEntry, cylinder_move_record
from jobs.services.cylinder_weighings import cylinder_weighing_record
from jobs.services.heel_removals import HeelEntry, heel_removal_record
from jobs.services.receipt_differences import receipt_difference_post
from jobs.services.requalification_tests import RequalificationEntry, requalification_test_record
from jobs.services.shipment_receipts import shipment_receipt_record
from jobs.services.stock_adjustments import stock_adjust
from jobs.services.stock_reversals import stock_movement_reverse
from jobs.services.withdrawals import WITHDRAWN, withdrawal_record
from jobs.views.cylinders import TRANSPORT, CylinderRecordFormView

COMMON_FIELDS = ("happened_on", "note", "submission_id")


class MoveAddView(CylinderRecordFormView):
    permission_required = "jobs.add_cylindermove"
    form_class = MoveForm
    heading = "Move the cylinder"
    button = "File the move"
    caution = TRANSPORT

    def get_initial(self) -> dict[str, Any]:
        technician = getattr(self.request.user, "technician", None)
        reason = MoveReason.WORK
        if self.cylinder.place == CylinderPlace.AWAY:
            reason = MoveReason.ACQUIRED if cylinder_contents(self.cylinder) else MoveReason.CAME_BACK
        return {
            **super().get_initial(),
            "moved_by": self.request.user.full_name,
            "technician": technician,
            "place": CylinderPlace.VAN if technician else CylinderPlace.SHOP,
            "reason": reason,
        }

    def save(self, form: MoveForm) -> CylinderRecord:
        common = {name: form.cleaned_data.pop(name) for name in COMMON_FIELDS}
        entry = MoveEntry(**form.cleaned_data)
        return cylinder_move_record(by=self.request.user, cylinder=self.cylinder, entry=entry, **common)


class WeighingAddView(CylinderRecordFormView):
    permission_required = "jobs.add_cylinderweighing"
    form_class = WeighForm
    heading = "Weigh the cylinder"
    button = "File the weighing"
    caution = (
        "Weigh it closed, upright and with nothing connected to it. One above its limit is overfilled: liquid expands "
        "as it warms, and a cylinder full of it opens its relief valve or bursts."
    )

    def get_initial(self) -> dict[str, Any]:
        return {**super().get_initial(), "scale": usual_scale(self.request.user)}

    def save(self, form: WeighForm) -> CylinderRecord:
        return cylinder_weighing_record(by=self.request.user, cylinder=self.cylinder, **form.cleaned_data)


class ContaminationAddView(CylinderRecordFormView):
    permission_required = "jobs.add_contamination"
    form_class = ContaminationForm
    heading = "Mark as mixed"
    button = "Mark the cylinder"
    caution = (
        "The pressure of a mixture can exceed that of each refrigerant in it, and with a flammable one it burns. "
        "Until it is emptied, it goes to reclamation or destruction alone. Never vent it."
    )

    def save(self, form: ContaminationForm) -> CylinderRecord:
        return contamination_record(by=self.request.user, cylinder=self.cylinder, **form.cleaned_data)


class HeelRemovalAddView(CylinderRecordFormView):
    permission_required = "jobs.add_heelremoval"
    form_class = HeelForm
    heading = "Heel removed"
    button = "File the removal"
    caution = (
        "Recover the heel with a recovery machine into a refillable cylinder that has room; ventilate, and never vent "
        "it. Leave the valve open once it is empty, so that nobody takes it for a full one. Local codes and your "
        "training go first."
    )

    def get_initial(self) -> dict[str, Any]:
        return {**super().get_initial(), "removed_by": getattr(self.request.user, "technician", None)}

    def save(self, form: HeelForm) -> CylinderRecord:
        common = {name: form.cleaned_data.pop(name) for name in COMMON_FIELDS}
        entry = HeelEntry(**form.cleaned_data)
        return heel_removal_record(by=self.request.user, cylinder=self.cylinder, entry=entry, **common)


class RequalificationTestAddView(CylinderRecordFormView):
    permission_required = "jobs.add_requalificationtest"
    form_class = RequalificationTestForm
    heading = "Requalification test"
    button = "File the test"
    caution = (
        "Only a holder of a requalifier identification number tests and marks a cylinder. Copy what is stamped on it "
        "or written in the report; the cylinder's own markings govern."
    )

    def save(self, form: RequalificationTestForm) -> CylinderRecord:
        common = {name: form.cleaned_data.pop(name) for name in COMMON_FIELDS}
        entry = RequalificationEntry(**form.cleaned_data)
        return requalification_test_record(
            by=self.request.user, cylinder=self.cylinder, entry=entry, **common
        )


class RequalificationPeriodAddView(CylinderRecordFormView):
    permission_required = "jobs.add_requalificationperiod"
    form_class = PeriodForm
    heading = "Requalification period"
    button = "Record the decision"

    def save(self, form: PeriodForm) -> CylinderRecord:
        return requalification_period_record(
            by=self.request.user, cylinder=self.cylinder, **form.cleaned_data
        )


class ReceiptAddView(CylinderRecordFormView):
    permission_required = "jobs.add_shipmentreceipt"
    form_class = ReceiptForm
    heading = "File a receipt"
    button = "File the receipt"
    caution = (
        "If much less arrived than was sent, suspect a leak: look at valve, relief device and hoses in a ventilated "
        "place. Never vent refrigerant (40 CFR 82.154(a))."
    )

    @cached_property
    def shipment(self) -> StockMovement:
        """What was sent."""
        shipments = StockMovement.objects.select_related("cylinder__holder")
        return get_object_or_404(shipments, pk=self.kwargs["pk"], cylinder__isnull=False)

    @property
    def cylinder(self) -> Cylinder:
        return self.shipment.cylinder

    def about(self) -> str:
        rows = self.shipment.transfers.select_related("to_holder")
        sent = "; ".join(
            f"{format_mass(row.mass_mg)} of {row.refrigerant} to {row.to_holder}" for row in rows
        )
        number = f", no. {self.shipment.document_number}" if self.shipment.document_number else ""
        return f"{self.shipment}{number}: {sent}."

    def save(self, form: ReceiptForm) -> CylinderRecord:
        return shipment_receipt_record(by=self.request.user, shipment=self.shipment, **form.cleaned_data)


class WithdrawalAddView(CylinderRecordFormView):
    permission_required = "jobs.add_withdrawal"
    form_class = ReasonForm
    heading = "Withdraw a record"
    button = "Withdraw it"
    done = "The record counts no more."

    @cached_property
    def record(self) -> CylinderRecord:
        """What was filed by mistake."""
        model = WITHDRAWN.get(self.kwargs["kind"])
        if model is None:
            raise Http404
        return get_object_or_404(model.objects.select_related("cylinder__holder"), pk=self.kwargs["pk"])

    @property
    def cylinder(self) -> Cylinder:
        return self.record.cylinder

    def about(self) -> str:
        return f"{self.record}. It stays readable, and counts no more."

    def save(self, form: ReasonForm) -> CylinderRecord:
        today = timezone.localdate()
        fields = form.cleaned_data
        return withdrawal_record(by=self.request.user, record=self.record, happened_on=today, **fields)


class ReversalAddView(ReceiptAddView):
    permission_required = "jobs.reverse_stockmovement"
    form_class = ReasonForm
    heading = "Reverse a record"
    button = "Reverse it"
    caution = ""
    done = "The record is reversed."

    def about(self) -> str:
        along = (
            " The cylinder’s move with it is withdrawn." if hasattr(self.shipment, "cylinder_move") else ""
        )
        undone = "It stays readable, and its masses are put back on the day it happened."
        return f"{super().about()} {undone}{along}"

    def save(self, form: ReasonForm) -> StockMovement:
        return stock_movement_reverse(by=self.request.user, movement=self.shipment, **form.cleaned_data)


class AdjustmentAddView(CylinderRecordFormView):
    permission_required = "jobs.adjust_stock"
    form_class = ReasonForm
    heading = "Adjust the books to the scale"
    button = "Adjust the books"

    @cached_property
    def weighing(self) -> CylinderWeighing:
        """What the scale showed."""
        weighings = CylinderWeighing.objects.select_related("cylinder__holder", "scale")
        return get_object_or_404(weighings, pk=self.kwargs["pk"])

    @property
    def cylinder(self) -> Cylinder:
        return self.weighing.cylinder

    def about(self) -> str:
        (stock,) = weighed_stock([self.weighing])
        return f"{self.weighing.happened_on}: {weighing_in_words(stock)}"

    def save(self, form: ReasonForm) -> StockMovement:
        return stock_adjust(by=self.request.user, weighing=self.weighing, **form.cleaned_data)


class ReceiptDifferenceAddView(CylinderRecordFormView):
    permission_required = "jobs.adjust_stock"
    form_class = ReasonForm
    heading = "Post the difference to the receipt"
    button = "Post the difference"

    @cached_property
    def receipt(self) -> ShipmentReceipt:
        """What the firm says that it received."""
        return get_object_or_404(receipts_with_shipments(), pk=self.kwargs["pk"])

    @property
    def cylinder(self) -> Cylinder:
        return self.receipt.shipment.cylinder

    def about(self) -> str:
        received = received_shipment(self.receipt)
        return f"{self.receipt.happened_on}, {received.firm}: {receipt_in_words(received)}"

    def save(self, form: ReasonForm) -> StockMovement:
        return receipt_difference_post(by=self.request.user, receipt=self.receipt, **form.cleaned_data)
