"""What the paper of a movement of stock says, and the movement that was filed under the same form before."""

import datetime
from dataclasses import dataclass, field
from typing import NotRequired, TypedDict
from uuid import UUID, uuid4

from django.utils import timezone

from compliance.rulebook.masses import format_mass
from jobs.models import Cylinder, StockMovement, StockMovementKind, Transfer
from jobs.services.cylinder_books import CylinderBook
from jobs.services.entries import EnteredMass
from jobs.services.refusals import Refusals, known_designation
from portal.accounts.models import User


class PaperFields(TypedDict):
    """What the paper of a movement of stock says besides its masses."""

    happened_on: datetime.date
    document_number: NotRequired[str]
    note: NotRequired[str]
    submission_id: NotRequired[UUID]
    filed_at: NotRequired[datetime.datetime]
    facility: NotRequired[str]
    facility_certificate: NotRequired[str]
    consignee_address: NotRequired[str]
    emergency_telephone: NotRequired[str]
    is_with_cylinder: NotRequired[bool]
    moved_by: NotRequired[str]


@dataclass(frozen=True)
class StockPaper:
    """A movement's paper, with who files it, when, of what kind it is, and the cylinder and firm it names.

    Attributes:
        firm_field: the form's name of the firm: ``supplier_name``, ``destination_name`` or ``buyer_name``.
        kind_field: the form's name of the field that tells the kind, where it has one.
        is_with_cylinder: the cylinder itself goes along to the firm; ``moved_by`` took it there.
    """

    by: User
    kind: StockMovementKind
    cylinder: Cylinder
    happened_on: datetime.date
    firm_field: str = ""
    firm_name: str = ""
    kind_field: str = ""
    document_number: str = ""
    note: str = ""
    supply_status: str = ""
    facility: str = ""
    facility_certificate: str = ""
    consignee_address: str = ""
    emergency_telephone: str = ""
    submission_id: UUID = field(default_factory=uuid4)
    filed_at: datetime.datetime = field(default_factory=timezone.now)
    is_with_cylinder: bool = False
    moved_by: str = ""


def movement_filed_before(
    paper: StockPaper, book: CylinderBook, mass: EnteredMass | None, refrigerant: str = ""
) -> StockMovement | None:
    """The movement that the same form was filed as.

    Args:
        paper: as sent now.
        book: of the cylinder, locked.
        mass: as sent now; None for all that the cylinder held.
        refrigerant: as sent now; empty where the cylinder's contents tell.

    Raises:
        SubmissionRefused: it was filed with other contents; names each field that differs.
    """
    first = StockMovement.objects.filter(submission_id=paper.submission_id).first()
    if first is None:
        return None
    refusals = Refusals()
    transfers = list(first.transfers.select_related("from_holder", "to_holder"))
    sent = {
        "submission_id": (paper.cylinder, first.cylinder),
        paper.kind_field: (paper.kind.label, first.get_kind_display()),
        paper.firm_field: (paper.firm_name.strip(), _firm_name(transfers)),
        "happened_on": (paper.happened_on, first.happened_on),
        "document_number": (paper.document_number.strip(), first.document_number),
        "note": (paper.note.strip(), first.note),
        "supply_status": (paper.supply_status, first.supply_status),
        "facility": (paper.facility.strip(), first.facility),
        "facility_certificate": (paper.facility_certificate.strip(), first.facility_certificate),
        "is_with_cylinder": (_yes(paper.is_with_cylinder), _yes(hasattr(first, "cylinder_move"))),
    }
    # Left empty, the address and the telephone of the last shipment were taken over.
    for name in ("consignee_address", "emergency_telephone"):
        if typed := getattr(paper, name).strip():
            sent[name] = (typed, getattr(first, name))
    if refrigerant:
        filed_designations = " and ".join(sorted({row.refrigerant for row in transfers}))
        sent["refrigerant"] = (known_designation(refusals, "refrigerant", refrigerant), filed_designations)
    for name, (now, before) in sent.items():
        if now != before:
            _refuse(refusals, name, now, before)
    moved_mg = sum(row.mass_mg for row in transfers)
    is_same_mass = mass.mass_mg == moved_mg if mass else not book.contents_on(first.happened_on)
    if not is_same_mass:
        _refuse(refusals, "mass", mass, format_mass(moved_mg))
    refusals.raise_any()
    return first


def _firm_name(transfers: list[Transfer]) -> str:
    holders = [holder for row in transfers for holder in (row.from_holder, row.to_holder)]
    return next((holder.name for holder in holders if holder.cylinder_id is None), "")


def _yes(is_true: bool) -> str:  # noqa: FBT001 -- the one thing that it is about
    return "yes" if is_true else "no"


def _refuse(refusals: Refusals, name: str, given: object, filed: object) -> None:
    expected = (
        f"This form was filed before, with {filed or 'nothing'} here. For another movement, open a new form."
    )
    refusals.add(name, given, expected)
