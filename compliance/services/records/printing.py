"""A service event as the PDF that its customer gets."""

from compliance.selectors.paper import paper_of
from compliance.selectors.service_record import ServiceRecord
from portal.web.pdf import render_pdf


def service_record_pdf(record: ServiceRecord) -> bytes:
    """Print a service record as a tagged PDF."""
    context = {"record": record, "event": record.event, "paper": paper_of(record.appliance.site)}
    return render_pdf("compliance/print/service_record.html", context)


def service_record_name(record: ServiceRecord) -> str:
    """The name of its file."""
    return f"service-record-{record.event.reference}.pdf"
