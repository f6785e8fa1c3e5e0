"""Service events, filings and appliances as the PDF that a customer gets."""

from compliance.selectors.appliance_record import ApplianceRecord
from compliance.selectors.filing_record import filing_record
from compliance.selectors.paper import paper_of
from compliance.selectors.service_record import ServiceRecord
from jobs.models import CaseFiling
from portal.web.pdf import render_pdf


def service_record_pdf(record: ServiceRecord) -> bytes:
    """Print a service record as a tagged PDF."""
    context = {"record": record, "event": record.event, "paper": paper_of(record.appliance.site)}
    return render_pdf("compliance/print/service_record.html", context)


def service_record_name(record: ServiceRecord) -> str:
    """The name of its file."""
    return f"service-record-{record.event.reference}.pdf"


def filing_record_pdf(filing: CaseFiling) -> bytes:
    """Print what was filed about a case as a tagged PDF.

    Args:
        filing: from ``whole_filings``.
    """
    context = {
        "filing": filing,
        "record": filing_record(filing, filing.filed_at),
        "paper": paper_of(filing.appliance.site),
    }
    return render_pdf("compliance/print/filing_record.html", context)


def filing_record_name(filing: CaseFiling) -> str:
    """The name of its file."""
    return f"filing-{filing.reference}.pdf"


def appliance_record_pdf(record: ApplianceRecord) -> bytes:
    """Print the record of an appliance as a tagged PDF."""
    context = {"record": record, "paper": paper_of(record.appliance.site)}
    return render_pdf("compliance/print/appliance_record.html", context)


def appliance_record_name(record: ApplianceRecord) -> str:
    """The name of its file."""
    return f"appliance-{record.appliance.pk}-as-of-{record.as_of}.pdf"
