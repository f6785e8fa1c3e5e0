"""Checks each weighed transfer: its mass, its refrigerant, and what its cylinder can give or take."""

from collections.abc import Mapping

from compliance.rulebook.masses import format_mass
from compliance.rulebook.recovered_refrigerant import use_of_recovered
from jobs.errors import SubmissionRefused
from jobs.models import TransferReason, WorkOrigin
from jobs.services.checks.visit_context import VisitContext, find_quietly
from jobs.services.cylinder_books import BookRow, CylinderBook
from jobs.services.cylinder_limits import ContentsMove, check_days_after
from jobs.services.entries import ONE_DAY, EnteredMass
from jobs.services.refusals import known_designation
from jobs.services.submission import INTO_APPLIANCE, OUT_OF_APPLIANCE, TransferEntry

# More than this many full charges in one transfer, or out of an appliance on one visit, is taken for a typing error;
# common practice, no source. An appliance can be overcharged, but not by much.
MOST_FULL_CHARGES_ADDED = 20
MOST_FULL_CHARGES_REMOVED = 5

RESALE_RULE = "40 CFR 82.154(d)"
REUSE_RULE = "40 CFR 82.156(h)"
# Reasons that can't stand for the other direction.
DIRECTION_OF: Mapping[str, str] = {
    TransferReason.DISPOSAL: OUT_OF_APPLIANCE,
    TransferReason.INSTALLATION: INTO_APPLIANCE,
}


def check_transfers(visit: VisitContext) -> None:
    """Check the transfers in the order given, each against what the ones before it left in the cylinders."""
    for position, entry in enumerate(visit.submission.transfers):
        _check_entry(visit, entry, f"transfers-{position}-")
    _check_total_removed(visit)
    check_later_days(visit)


def _check_entry(visit: VisitContext, entry: TransferEntry, prefix: str) -> None:
    if entry.direction not in (INTO_APPLIANCE, OUT_OF_APPLIANCE):
        visit.refusals.add(f"{prefix}direction", entry.direction, "Expected in or out of the appliance.")
    if DIRECTION_OF.get(entry.reason, entry.direction) != entry.direction:
        visit.refusals.add(f"{prefix}reason", entry.reason, "Expected a reason that fits the direction.")
    if entry.leak is not None:
        visit.check_leak(f"{prefix}leak", entry.leak)
    designation = known_designation(
        visit.refusals, f"{prefix}refrigerant", entry.refrigerant or visit.charge.refrigerant
    )
    visit.designations.append(designation)
    _check_refrigerant(visit, designation, f"{prefix}refrigerant")
    if not _is_mass_sound(visit, entry, f"{prefix}mass"):
        return
    is_own = visit.submission.origin == WorkOrigin.OWN
    if is_own and entry.cylinder is None:
        visit.refusals.add(f"{prefix}cylinder", None, "Expected the cylinder that was weighed.")
    elif not is_own and entry.cylinder is not None:
        expected = "Expected no cylinder of ours in the record of another contractor's work."
        visit.refusals.add(f"{prefix}cylinder", entry.cylinder, expected)
    elif entry.cylinder is not None:
        _check_cylinder(visit, entry, designation, prefix)


def _check_refrigerant(visit: VisitContext, designation: str, name: str) -> None:
    fitting = {charge.refrigerant for charge in visit.charges}
    if designation not in fitting:
        expected = (
            f"Expected {' or '.join(sorted(fitting))}, the refrigerant of {visit.appliance} on that day."
        )
        visit.refusals.add(name, designation, expected)


def _is_mass_sound(visit: VisitContext, entry: TransferEntry, name: str) -> bool:
    """Say whether the mass can be moved at all; notes a refusal otherwise."""
    mass_mg = entry.mass.mass_mg
    most_mg = _full_charges_mg(visit, MOST_FULL_CHARGES_ADDED)
    if mass_mg <= 0:
        visit.refusals.add(name, entry.mass, "Expected a mass above zero.")
        return False
    if mass_mg > most_mg:
        most = f"{format_mass(most_mg)}, {MOST_FULL_CHARGES_ADDED} full charges of {visit.appliance}"
        expected = f"Expected at most {most}."
        visit.refusals.add(name, entry.mass, expected)
        return False
    try:
        is_as_typed = EnteredMass.parse(entry.mass.value, entry.mass.unit).mass_mg == mass_mg
    except SubmissionRefused:
        is_as_typed = False
    if not is_as_typed:
        visit.refusals.add(
            name, entry.mass, f"Expected a figure that comes to the {mass_mg} mg stated with it."
        )
    return is_as_typed


def _full_charges_mg(visit: VisitContext, count: int) -> int:
    """So many full charges, to the milligram that each may have been rounded by."""
    return count * (max(charge.full_charge_mg for charge in visit.charges) + 1)


def _check_cylinder(visit: VisitContext, entry: TransferEntry, designation: str, prefix: str) -> None:
    cylinder = entry.cylinder
    book = visit.books.get(cylinder.pk) if cylinder else None
    if book is None:
        visit.refusals.add(f"{prefix}cylinder", cylinder, "Expected a cylinder on record.")
        return
    into_cylinder = entry.direction == OUT_OF_APPLIANCE
    row = BookRow(
        visit.submission.happened_on,
        designation,
        entry.mass.mass_mg if into_cylinder else -entry.mass.mass_mg,
        visit.appliance.site.customer_id if into_cylinder else None,
    )
    move = ContentsMove(book, row, mass_field=f"{prefix}mass", cylinder_field=f"{prefix}cylinder")
    if into_cylinder:
        move.check_fill(visit.refusals)
    else:
        _check_owners(visit, book, entry, f"{prefix}cylinder")
        _check_recycled(visit, book, entry, prefix)
        move.check_reuse(visit.refusals)
        move.check_draw(visit.refusals)


def _check_owners(visit: VisitContext, book: CylinderBook, entry: TransferEntry, name: str) -> None:
    """Note if recovered refrigerant would go where it may only after reclamation: to another owner, into an MVAC."""
    owners = book.owners_on(visit.submission.happened_on)
    others = owners - {visit.appliance.site.customer_id}
    if others and visit.is_under_us_law:
        expected = (
            f"Cylinder {book.cylinder} holds refrigerant recovered from another owner's appliance. It goes to a new "
            f"owner only after reclamation; {visit.appliance.site.customer}'s own may be returned (40 CFR 82.156(h))."
        )
        visit.refusals.add(name, book.cylinder, expected, RESALE_RULE)
    elif owners and visit.is_under_us_law and visit.appliance.is_mvac_like and not entry.is_recycled:
        expected = (
            f"Cylinder {book.cylinder} holds recovered refrigerant. It goes into a motor vehicle air conditioner, or "
            "one like it, only recycled or reclaimed, though it came from the same owner."
        )
        visit.refusals.add(name, book.cylinder, expected, REUSE_RULE)
    elif visit.is_under_us_law and book.holds_bought_recycled_on(visit.submission.happened_on):
        expected = (
            f"Cylinder {book.cylinder} holds refrigerant that was bought as recycled. Used refrigerant goes to a new "
            "owner only after reclamation."
        )
        visit.refusals.add(name, book.cylinder, expected, RESALE_RULE)


def _check_recycled(visit: VisitContext, book: CylinderBook, entry: TransferEntry, prefix: str) -> None:
    """Note if recovered refrigerant would go into an appliance as it was recovered, where the law bars that."""
    charged = find_quietly(entry.refrigerant or visit.charge.refrigerant)
    on = visit.submission.happened_on
    if entry.is_recycled or charged is None or not book.owners_on(on):
        return
    if asked := use_of_recovered(visit.appliance.site.jurisdiction, charged, on=on):
        expected = (
            f"Cylinder {book.cylinder} holds recovered refrigerant. {asked.value} Expected it to be stated as "
            "recycled, or another cylinder."
        )
        visit.refusals.add(f"{prefix}is_recycled", book.cylinder, expected, asked.citation)


def _check_total_removed(visit: VisitContext) -> None:
    removed = [
        (position, entry)
        for position, entry in enumerate(visit.submission.transfers)
        if entry.direction == OUT_OF_APPLIANCE and entry.mass.mass_mg > 0
    ]
    total_mg = sum(entry.mass.mass_mg for _, entry in removed)
    most_mg = _full_charges_mg(visit, MOST_FULL_CHARGES_REMOVED)
    if total_mg > most_mg:
        expected = (
            f"Expected at most {format_mass(most_mg)} out of {visit.appliance} on one visit, "
            f"{MOST_FULL_CHARGES_REMOVED} full charges."
        )
        visit.refusals.add(f"transfers-{removed[-1][0]}-mass", format_mass(total_mg), expected)


def check_later_days(visit: VisitContext) -> None:
    """Note if records of later days can't stand beside this visit, or without what it takes the place of."""
    since = visit.submission.happened_on
    if visit.superseded is not None:
        # What the former record moved is given back from its own day on.
        since = min(since, visit.superseded.happened_on - ONE_DAY)
    fields = {
        entry.cylinder.pk: f"transfers-{position}-mass"
        for position, entry in reversed(list(enumerate(visit.submission.transfers)))
        if entry.cylinder
    }
    for cylinder_id, book in sorted(visit.books.items()):
        check_days_after(visit.refusals, book, since, field=fields.get(cylinder_id, "transfers"))
