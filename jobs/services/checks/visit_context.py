"""What the checks of one submission share: the locked records that it is held against, and what was found wrong."""

import datetime
from dataclasses import dataclass, field

from compliance.rulebook.errors import InvalidInput
from compliance.rulebook.refrigerants import Refrigerant, find
from jobs.models import Appliance, Certification, Jurisdiction, Leak, ServiceEvent, StatementKind
from jobs.selectors.appliances import Charge
from jobs.services.cylinder_books import CylinderBook
from jobs.services.entries import local_date
from jobs.services.refusals import Refusals
from jobs.services.submission import EventSubmission, LeakRef

US_JURISDICTIONS = (Jurisdiction.US_FEDERAL, Jurisdiction.US_CALIFORNIA)


@dataclass
class VisitContext:
    """One submission under check.

    Attributes:
        submission: what was typed.
        appliance: locked, with its site.
        filed_at: the instant that counts as now.
        charge: the appliance's charge in force on the day.
        books: cylinder id -> its book, locked; checks enter the moves of the submission.
        leaks: leaks of the appliance that standing records tell of, by id.
        superseded: the event that this one amends.
        refusals: what was found wrong so far.
        certification: the certificate that the visit was done under, once found.
        designations: the refrigerant of each transfer, once known.
    """

    submission: EventSubmission
    appliance: Appliance
    filed_at: datetime.datetime
    charge: Charge
    books: dict[int, CylinderBook]
    leaks: dict[int, Leak]
    superseded: ServiceEvent | None = None
    refusals: Refusals = field(default_factory=Refusals)
    certification: Certification | None = None
    designations: list[str] = field(default_factory=list)

    @property
    def today(self) -> datetime.date:
        """The date at the site when it is filed."""
        return local_date(self.appliance.site, self.filed_at)

    @property
    def is_under_us_law(self) -> bool:
        """Whether 40 CFR part 82 applies at the site."""
        return self.appliance.site.jurisdiction in US_JURISDICTIONS

    def us_law(self, citation: str) -> str:
        """The citation where it is law; elsewhere the portal asks for the same without it."""
        return citation if self.is_under_us_law else ""

    @property
    def charges(self) -> list[Charge]:
        """The charge in force before the visit, and those that the visit itself states."""
        stated = [self.charge]
        for statement in self.submission.statements:
            full_charge_mg = statement.details.get("full_charge_mg")
            if statement.kind not in (StatementKind.FULL_CHARGE_CHANGE, StatementKind.RETROFITTED):
                continue
            if isinstance(full_charge_mg, int) and full_charge_mg > 0:
                named = str(statement.details.get("refrigerant", self.charge.refrigerant))
                found = find_quietly(named)
                stated.append(Charge(found.designation if found else named, full_charge_mg))
        return stated

    def check_leak(self, name: str, leak: LeakRef) -> None:
        """Note if a row names a leak that is neither on record for this appliance nor reported with it."""
        if isinstance(leak, str):
            if leak not in {entry.reference for entry in self.submission.leaks_found}:
                self.refusals.add(name, leak, "Expected a leak on record or one that this visit found.")
            return
        restated = {entry.leak.pk for entry in self.submission.leaks_found if entry.leak}
        if leak.appliance_id != self.appliance.pk:
            self.refusals.add(
                name, leak, f"Expected a leak of {self.appliance}; this one is another appliance's."
            )
        elif leak.pk not in self.leaks and leak.pk not in restated:
            self.refusals.add(name, leak, f"Expected a leak that a record of {self.appliance} tells of.")


def find_quietly(designation: str) -> Refrigerant | None:
    """The refrigerant, or None where another check refuses the designation."""
    try:
        return find(designation)
    except InvalidInput:
        return None
