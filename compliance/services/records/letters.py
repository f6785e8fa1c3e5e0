"""The e-mail that brings a service record: what the visit showed, in a few lines, above the PDF."""

from django.conf import settings
from django.core.mail import EmailMultiAlternatives
from django.template.loader import render_to_string

from compliance.models import RecordDelivery
from compliance.selectors.service_record import ServiceRecord
from compliance.services.outbox import message_headers


def record_letter(record: ServiceRecord, delivery: RecordDelivery) -> EmailMultiAlternatives:
    """Write the message of one sending, without its attachment."""
    context = {
        "record": record,
        "event": record.event,
        "appliance": record.appliance,
        "site": record.appliance.site,
        "delivery": delivery,
        "heading": record_heading(record),
        "firm_name": settings.FIRM_NAME,
    }
    subject = f"{record_heading(record)}: {record.appliance.name}, {record.appliance.site.name}"
    message = EmailMultiAlternatives(
        subject=" ".join(subject.split())[:240],
        body=render_to_string("compliance/email/service_record.txt", context),
        to=[delivery.recipient_email],
        headers=message_headers(
            "record", f"{record.event.submission_id} {delivery.recipient_email} {delivery.sending}"
        ),
    )
    message.attach_alternative(render_to_string("compliance/email/service_record.html", context), "text/html")
    return message


def record_heading(record: ServiceRecord) -> str:
    """What it is, such as “Amended service record SE-000012 (replaces SE-000010)”."""
    event = record.event
    if event.is_void:
        return f"Service record {event.supersedes} is void"
    if event.supersedes:
        return f"Amended service record {event} (replaces {event.supersedes})"
    return f"Service record {event}"
