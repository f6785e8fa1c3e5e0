"""Forms of what comes into and leaves stock: purchases and shipments of a cylinder's contents."""

import datetime
import uuid
from typing import Any

from crispy_forms.layout import Fieldset
from django import forms
from django.conf import settings
from django.core.exceptions import ValidationError

from jobs.forms.layout import CHOOSE, DateField, SuggestInput, page_helper, side_by_side
from jobs.forms.masses import MassField
from jobs.forms.messages import NamedValues
from jobs.forms.refrigerants import RefrigerantField
from jobs.models import (
    US_CERTIFICATION_TYPES,
    BuyerBasis,
    Cylinder,
    Holder,
    HolderKind,
    SupplyStatus,
)
from jobs.selectors.stock_list import sale_retention
from jobs.selectors.technicians import EU_CERTIFICATION_TYPES

SHIPMENT_DESTINATIONS = (
    (HolderKind.RECLAIMER.value, "Reclaimer"),
    (HolderKind.DESTRUCTION_FACILITY.value, "Destruction facility"),
)
ALONG, ALL, PART = "along", "all", "part"


def known_names(*kinds: HolderKind) -> list[tuple[str, str]]:
    """Return the firms of these kinds that the books know, so that one firm keeps one name."""
    rows = Holder.objects.filter(kind__in=kinds).exclude(name="").order_by("name")
    return [(holder.name, holder.get_kind_display()) for holder in rows]


def moved_by_field() -> forms.CharField:
    """Return the box for who takes a cylinder along with what is shipped or sold in it."""
    return forms.CharField(
        label="Who takes it there",
        max_length=120,
        required=False,
        help_text="A person of ours or a carrier; only if the cylinder goes along.",
    )


class RecordForm(NamedValues, forms.Form):
    """What every record of a cylinder says; ``submission_id`` lets a form sent twice file once."""

    use_required_attribute = False
    fieldsets: tuple[Fieldset, ...] = ()

    submission_id = forms.UUIDField(widget=forms.HiddenInput)
    happened_on = DateField(label="Date")
    note = forms.CharField(label="Note", required=False, widget=forms.Textarea({"rows": 2}))

    def __init__(self, *args: Any, cylinder: Cylinder, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.cylinder = cylinder
        self.fields["submission_id"].initial = uuid.uuid4
        self.helper = page_helper(*self.fieldsets)


class PaperForm(RecordForm):
    """What the paper of a movement of stock says."""

    document_number = forms.CharField(label="Document number", max_length=80, required=False)


class PurchaseForm(PaperForm):
    """Refrigerant bought in a cylinder."""

    supplier_name = forms.CharField(label="Supplier", max_length=160)
    refrigerant = RefrigerantField(label="Refrigerant")
    mass = MassField(label="Mass", help_text="Net, as on the invoice or as weighed.")
    supply_status = forms.ChoiceField(
        label="It is",
        choices=SupplyStatus.choices,
        initial=SupplyStatus.VIRGIN,
        widget=forms.RadioSelect,
        help_text=(
            "What comes back from a reclaimer is bought as reclaimed; it may go to any owner. Recycled refrigerant is "
            "for appliances in Europe: in the United States it goes to no new owner (40 CFR 82.154(d))."
        ),
    )
    facility = forms.CharField(
        label="Reclamation or recycling facility, its name and address",
        max_length=300,
        required=False,
        widget=forms.Textarea({"rows": 2}),
        help_text=(
            "Of reclaimed or recycled refrigerant: the equipment record names it (Regulation (EU) 2024/573 "
            "Art. 7(1)(d))."
        ),
    )
    facility_certificate = forms.CharField(
        label="Certificate number of the facility", max_length=80, required=False, help_text="If it has one."
    )

    fieldsets = (
        Fieldset("What was bought", side_by_side("refrigerant", "mass"), "supply_status", "submission_id"),
        Fieldset("By whom it was reclaimed or recycled", "facility", "facility_certificate"),
        Fieldset("From whom", "supplier_name", side_by_side("happened_on", "document_number"), "note"),
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["refrigerant"].initial = self.cylinder.refrigerant
        self.fields["supplier_name"].widget = SuggestInput(known_names(HolderKind.SUPPLIER))
        self.fields["document_number"].help_text = "Of the invoice or delivery note."


class ShipmentForm(PaperForm):
    """A cylinder's contents sent for reclamation or destruction."""

    extent = forms.ChoiceField(
        label="How much was taken",
        choices=(
            (ALONG, "All that the cylinder holds by its books, and the cylinder goes along"),
            (ALL, "All that it holds; the cylinder stays here"),
            (PART, "A part of it, weighed; the cylinder stays here"),
        ),
        initial=ALONG,
        widget=forms.RadioSelect,
    )
    mass = MassField(label="Mass taken", required=False, help_text="Only for a part.")
    destination_kind = forms.ChoiceField(
        label="Sent to a",
        choices=SHIPMENT_DESTINATIONS,
        initial=HolderKind.RECLAIMER,
        widget=forms.RadioSelect,
    )
    destination_name = forms.CharField(
        label="Name of the firm", max_length=160, help_text="Kept with the record (40 CFR 82.156(a)(3)(iii))."
    )
    moved_by = moved_by_field()
    consignee_address = forms.CharField(
        label="Address of the firm",
        max_length=300,
        required=False,
        widget=forms.Textarea({"rows": 2}),
        help_text="Empty: as on the last shipping paper to it.",
    )
    emergency_telephone = forms.CharField(
        label="Emergency telephone, and whose it is",
        max_length=120,
        required=False,
        help_text="Monitored all the time it is on its way (49 CFR 172.604). Empty: as on the last shipping paper.",
    )

    fieldsets = (
        Fieldset("What was sent", "extent", "mass", "submission_id"),
        Fieldset(
            "To whom",
            *("destination_kind", "destination_name", "consignee_address"),
            *(side_by_side("happened_on", "document_number"), "moved_by", "note"),
        ),
        Fieldset("On the shipping paper", "emergency_telephone"),
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["document_number"].label = "Number of the shipping document"
        names = known_names(HolderKind.RECLAIMER, HolderKind.DESTRUCTION_FACILITY)
        self.fields["destination_name"].widget = SuggestInput(names)

    def clean(self) -> dict[str, Any]:
        """Read how much was sent, ``mass`` is None for all of it, and whether the cylinder went along.

        Raises:
            ValidationError: a mass beside “all”, or a part without a mass.
        """
        entered = super().clean()
        mass, extent = entered.get("mass"), entered.get("extent")
        if "mass" in entered and extent == PART and mass is None:
            self.add_error(
                "mass", ValidationError("Expected the mass of the part that was taken. You gave nothing.")
            )
        if extent in (ALONG, ALL) and mass is not None:
            message = (
                f"Expected no mass when all was taken: choose the part, or empty this. You gave “{mass}”."
            )
            self.add_error("mass", ValidationError(message))
        return {**entered, "is_with_cylinder": extent == ALONG}


class SaleForm(PaperForm):
    """Refrigerant sold out of a cylinder or in it, with what was shown of the buyer."""

    mass = MassField(
        label="Mass sold",
        required=False,
        help_text="Net, as on the invoice. Empty: all that the cylinder holds by its books.",
    )
    buyer_name = forms.CharField(label="Buyer", max_length=160)
    basis = forms.ChoiceField(
        label="The buyer",
        choices=BuyerBasis.choices,
        initial=BuyerBasis.CERTIFIED,
        widget=forms.RadioSelect,
        help_text="Refrigerant is sold to no one else (40 CFR 82.154(c)(1)).",
    )
    is_in_the_union = forms.BooleanField(
        label="Sold in the European Union",
        required=False,
        help_text="To certified people, or who employs them, alone (Regulation (EU) 2024/573 Art. 11(6)).",
    )
    technician_name = forms.CharField(label="Certified technician", max_length=120, required=False)
    certification_type = forms.ChoiceField(
        label="Type of certificate",
        choices=[("", CHOOSE), *((type_.value, type_.label) for type_ in US_CERTIFICATION_TYPES)],
        required=False,
    )
    certification_number = forms.CharField(label="Certificate number", max_length=60, required=False)
    proof = forms.CharField(
        label="What was shown, and where the copy is kept",
        required=False,
        widget=forms.Textarea({"rows": 2}),
        help_text="Of an employer: proof that the technician works there.",
    )
    is_with_cylinder = forms.BooleanField(
        label="The cylinder goes along",
        required=False,
        help_text="With all that it holds; its move to the buyer is filed with the sale.",
    )
    moved_by = moved_by_field()

    fieldsets = (
        Fieldset("What was sold", "mass", side_by_side("happened_on", "document_number"), "submission_id"),
        Fieldset("To whom", "buyer_name", "basis"),
        Fieldset(
            "Proof of certification",
            "technician_name",
            side_by_side("certification_type", "certification_number"),
            "proof",
        ),
        Fieldset("The cylinder itself", "is_with_cylinder", "moved_by", "note"),
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        # A firm without a certificate of the Union sells nothing there.
        works_in_the_union = bool(settings.FIRM_CERTIFICATE_EU)
        if works_in_the_union:
            sold, _, *others = self.fieldsets
            self.fieldsets = (sold, Fieldset("To whom", "buyer_name", "is_in_the_union", "basis"), *others)
        super().__init__(*args, **kwargs)
        if works_in_the_union:
            union_types = [(kind.value, kind.label) for kind in EU_CERTIFICATION_TYPES]
            self.fields["certification_type"].choices += union_types
        else:
            del self.fields["is_in_the_union"]
        self.fields["buyer_name"].widget = SuggestInput(known_names(HolderKind.BUYER))
        self.fields["document_number"].label = "Invoice number"
        self.fields["document_number"].help_text = _kept_in_words(
            self.initial["happened_on"], works_in_the_union=works_in_the_union
        )


def _kept_in_words(on: datetime.date, *, works_in_the_union: bool) -> str:
    """How long the record of a sale on a day is to be kept, here and in the European Union."""
    row = sale_retention(on, is_in_the_union=False)
    words = f"Kept {row.in_words} with buyer, date and mass ({row.citation})"
    if works_in_the_union:
        row = sale_retention(on, is_in_the_union=True)
        words += f"; in the European Union {row.in_words} ({row.citation})"
    return f"{words}."
