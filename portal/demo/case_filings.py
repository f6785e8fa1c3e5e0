"""Files what the stories tell beside visits, as the compliance officer of the demo firm would have."""

import uuid
from datetime import datetime, time, timedelta

from compliance.rulebook.filings.catalogue import SPECS
from compliance.rulebook.filings.check import state_objections
from compliance.rulebook.filings.specs import FilingKind
from compliance.selectors.filing_situation import filing_situation
from compliance.services.case_filings import Document, FilingSubmission, case_filing_file
from jobs.models import Appliance, CaseFiling
from jobs.selectors.events import current_events
from portal.demo.filing_stories import DaysAgo, DemoFiling, NewestVisit
from portal.demo.firm import Firm

NAMESPACE = uuid.UUID("5c1f2f0e-6a0e-4c8e-9a0b-6f1c7f5f9b11")
LETTER = (
    "Northern Lakes Compressor Works\n\nShaft seal kit and bearing, turned to order: six weeks from order.\n"
)


class CaseFiler:
    """Files each filing on its own day."""

    def __init__(self, firm: Firm, officer: object, now: datetime) -> None:
        self._firm, self._officer, self._now = firm, officer, now

    def file(self, appliance: Appliance, filing: DemoFiling) -> CaseFiling | None:
        """File one; who signs and decides is the customer's contact.

        Nothing is filed where the story falls on days before the paragraph came into force.
        """
        on = self._firm.today - timedelta(days=filing.days_ago)
        filed_at = min(datetime.combine(on, time(17, 20), tzinfo=appliance.site.zone), self._now)
        documents = (Document(filing.document, "text/plain", LETTER.encode()),) if filing.document else ()
        if state_objections(
            FilingKind(filing.kind), filing_situation(appliance, on=on, today=self._firm.today)
        ):
            return None
        submission = FilingSubmission(
            appliance=appliance,
            kind=FilingKind(filing.kind),
            happened_on=on,
            details=self._details(appliance, filing),
            note=filing.note,
            documents=documents,
            submission_id=uuid.uuid5(NAMESPACE, f"{appliance.pk}:{filing.kind}:{filing.days_ago}"),
        )
        return case_filing_file(by=self._officer, submission=submission, filed_at=filed_at)

    def _details(self, appliance: Appliance, filing: DemoFiling) -> dict[str, object]:
        contact = appliance.site.customer.contact_name
        fields = SPECS[FilingKind(filing.kind)].fields
        asked = {field.name for field in fields if field.is_asked(filing.details)}
        people = {name: contact for name in ("signed_by", "decided_by") if name in asked}
        told = {name: self._value(appliance, value) for name, value in filing.details.items()}
        return {**people, **told}

    def _value(self, appliance: Appliance, value: object) -> object:
        if isinstance(value, DaysAgo):
            return (self._firm.today - timedelta(days=value.days)).isoformat()
        if isinstance(value, NewestVisit):
            return list(current_events(appliance))[-value.place].reference
        return value
