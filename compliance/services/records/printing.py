"""Service events, filings, records of facilities and appliances as the PDF that a customer gets."""

from datetime import datetime

from compliance.rulebook.method_change import CITATION
from compliance.selectors.appliance_record import ApplianceRecord
from compliance.selectors.filing_record import filing_record
from compliance.selectors.method_changes import Record, facility_record_shown
from compliance.selectors.paper import paper_of
from compliance.selectors.service_record import ServiceRecord
from jobs.models import CaseFiling, LeakRateMethodChange
from portal.web.pdf import render_pdf


def service_record_pdf(record: ServiceRecord) -> bytes:
    """Print a service record as a tagged PDF."""
    context = {"record": record, "event": record.event, "paper": paper_of(record.appliance.site)}
    return render_pdf("compliance/print/service_record.html", context)


def service_record_name(record: ServiceRecord) -> str:
    """The name of its file."""
    return f"service-record-{record.event.reference}.pdf"


def filing_record_pdf(filing: CaseFiling, *, known_at: datetime | None = None) -> bytes:
    """Print what was filed about a case as a tagged PDF.

    Args:
        filing: from ``whole_filings``.
        known_at: versions filed later don't count; now unless given.
    """
    context = {
        "filing": filing,
        "record": filing_record(filing, filing.filed_at, known_at=known_at),
        "paper": paper_of(filing.appliance.site),
    }
    return render_pdf("compliance/print/filing_record.html", context)


def filing_record_name(filing: CaseFiling) -> str:
    """The name of its file."""
    return f"filing-{filing.reference}.pdf"


def facility_record_pdf(row: Record, *, known_at: datetime | None = None) -> bytes:
    """Print a change of a facility's leak rate method, or a correction of the register, as a tagged PDF.

    Args:
        row: from ``whole_facility_records``.
        known_at: versions filed later don't count; now unless given.
    """
    is_change = isinstance(row, LeakRateMethodChange)
    name = "method_change" if is_change else "method_correction"
    context = {
        "row": row,
        "shown": facility_record_shown(row, known_at=known_at),
        "what": "Leak rate method changed" if is_change else "Leak rate method corrected in the register",
        "citation": CITATION,
        "facts_template": f"compliance/partials/{name}_facts.html",
        "paper": paper_of(row.site),
    }
    return render_pdf("compliance/print/facility_record.html", context)


def appliance_record_pdf(record: ApplianceRecord, *, printed_by: str, printed_at: datetime) -> bytes:
    """Print the record of an appliance as a tagged PDF, with who printed it and when."""
    context = {
        "record": record,
        "printed_by": printed_by,
        "printed_at": printed_at,
        "paper": paper_of(record.appliance.site),
    }
    return render_pdf("compliance/print/appliance_record.html", context)


def appliance_record_name(record: ApplianceRecord) -> str:
    """The name of its file."""
    return f"appliance-{record.appliance.pk}-as-of-{record.as_of}.pdf"
