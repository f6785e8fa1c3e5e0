"""Hands filed records to customers by e-mail: a row is raised with the filing, and a worker sends it once.

Filing only writes the row, so it waits for no printer, no broker and no mail server.
"""

import datetime
import hashlib
from typing import Any

from django.core.files.base import ContentFile
from django.core.mail import EmailMessage
from django.db import transaction
from django.db.models import Q

from compliance.errors import CustomerHasNoAddress
from compliance.models import MessageState, RecordDelivery
from compliance.selectors.event_record import whole_events
from compliance.selectors.service_record import ServiceRecord, service_record
from compliance.services.outbox import message_claim, message_deliver
from compliance.services.records.letters import record_letter
from compliance.services.records.printing import service_record_name, service_record_pdf
from jobs.models import ServiceEvent, WorkOrigin
from portal.accounts.models import User

# Whoever switched the sending off after the filing doesn't get it; what somebody asked for goes out.
STILL_WANTED = Q(asked_by__isnull=False) | Q(event__appliance__site__customer__is_sent_records=True)


def filed_event_hand_over(*, event: ServiceEvent, filed_at: datetime.datetime, **_: Any) -> None:
    """Have the record of an event that is being filed sent to the customer's contact, inside its transaction.

    Only our own work: another contractor hands over the record of theirs.
    """
    customer = event.appliance.site.customer
    if event.origin == WorkOrigin.OWN and customer.is_sent_records and customer.email:
        _raise(event, filed_at)


@transaction.atomic
def record_send_again(*, by: User, event: ServiceEvent, asked_at: datetime.datetime) -> RecordDelivery:
    """Have a record sent once more, to the address that the customer's contact has now.

    One that waits to be sent there already is not doubled.

    Raises:
        CustomerHasNoAddress: there is nowhere to send it.
    """
    # Two people who ask at once wait for each other.
    event = ServiceEvent.objects.select_for_update(no_key=True, of=("self",)).get(pk=event.pk)
    customer = event.appliance.site.customer
    if not customer.email:
        raise CustomerHasNoAddress(customer)
    newest = event.deliveries.filter(recipient_email=customer.email).order_by("-sending").first()
    if newest and newest.state in (MessageState.WAITING, MessageState.SENDING):
        return newest
    return _raise(event, asked_at, sending=newest.sending + 1 if newest else 1, asked_by=by)


def record_claim(*, now: datetime.datetime) -> RecordDelivery | None:
    """Claim the oldest record that waits to be sent; those that the customer no longer gets are dropped."""
    return message_claim(RecordDelivery.objects.all(), now=now, is_wanted=STILL_WANTED)


def record_deliver(*, delivery: RecordDelivery, sent_at: datetime.datetime) -> bool:
    """Print a claimed record, keep the PDF and send it; a failure is noted and tried again later.

    Returns:
        Whether it was sent.
    """
    return message_deliver(delivery, lambda: _message(delivery), sent_at=sent_at)


def _raise(
    event: ServiceEvent, raised_at: datetime.datetime, *, sending: int = 1, asked_by: User | None = None
) -> RecordDelivery:
    customer = event.appliance.site.customer
    return RecordDelivery.objects.create(
        event=event,
        recipient_email=customer.email,
        recipient_name=customer.contact_name or customer.name[:120],
        sending=sending,
        asked_by=asked_by,
        raised_at=raised_at,
    )


def _message(delivery: RecordDelivery) -> EmailMessage:
    record = service_record(whole_events().get(pk=delivery.event_id))
    message = record_letter(record, delivery)
    message.attach(service_record_name(record), _kept_pdf(record, delivery), "application/pdf")
    return message


def _kept_pdf(record: ServiceRecord, delivery: RecordDelivery) -> bytes:
    """The PDF of this sending: printed at the first attempt, and the same at every further one."""
    if delivery.pdf:
        with delivery.pdf.open("rb") as kept:
            return bytes(kept.read())
    pdf = service_record_pdf(record)
    delivery.pdf_sha256 = hashlib.sha256(pdf).hexdigest()
    delivery.pdf.save(service_record_name(record), ContentFile(pdf), save=False)
    delivery.save(update_fields=["pdf", "pdf_sha256"])
    return pdf
