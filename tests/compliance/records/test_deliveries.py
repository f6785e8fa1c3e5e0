"""A filed record goes to the customer once, whatever happens to workers and mail servers; filing waits for none."""

import datetime
import hashlib

import pytest
from django.db import IntegrityError, transaction
from django.urls import reverse

from compliance.errors import CustomerHasNoAddress
from compliance.models import RecordDelivery, TaskRun
from compliance.services.outbox import CLAIM_LASTS
from compliance.services.records import record_claim, record_deliver, record_send_again
from compliance.tasks import send_records
from jobs.models import WorkOrigin
from jobs.services.events import service_event_amend, service_event_void
from tests import people
from tests.factories import FILED_AT, charged, file_event, submission

pytestmark = pytest.mark.django_db

NOW = FILED_AT + datetime.timedelta(minutes=1)


def send_all(now=NOW):
    while delivery := record_claim(now=now):
        record_deliver(delivery=delivery, sent_at=now)


def amend(event, supply):
    return service_event_amend(
        by=people.officer(),
        event=event,
        submission=submission(
            event.appliance, technician=event.technician, transfers=(charged(supply, "5 lb"),)
        ),
        reason="Misread scale",
        filed_at=FILED_AT,
    ).event


def test_a_filed_record_is_sent_once_to_the_customers_contact(over, mailbox):
    send_all()
    send_all(NOW + datetime.timedelta(days=1))

    (message,) = mailbox()
    assert message["To"] == "imogen@larkspur.example"
    assert message["Subject"] == f"Service record {over}: Rooftop chiller 3, Churn Street plant"
    assert message["Auto-Submitted"] == "auto-generated"
    said = message.get_body(("plain",)).get_content()
    assert "R-410A: 7.000 lb (3.175 kg) added" in said.replace("\xa0", " ")
    assert "Leak rate: 11.67 %, OVER the 10 % threshold" in said
    assert "Leak repair: due by 2026-04-01 (40 CFR 84.106(d))." in said
    assert "Keep it until 2029-03-02 or longer" in said


def test_the_pdf_hangs_on_the_message_and_is_kept_as_sent(over, mailbox):
    send_all()

    (attachment,) = mailbox()[0].iter_attachments()
    delivery = RecordDelivery.objects.get()
    content = attachment.get_payload(decode=True)
    assert attachment.get_filename() == f"service-record-{over}.pdf"
    assert attachment.get_content_type() == "application/pdf"
    assert content == delivery.pdf.read()
    assert hashlib.sha256(content).hexdigest() == delivery.pdf_sha256
    assert (delivery.state, delivery.sent_at, delivery.attempts) == ("sent", NOW, 1)


def test_a_customer_without_an_address_is_sent_nothing(chiller, customer):
    customer.email = ""
    customer.save()
    file_event(chiller)

    assert not RecordDelivery.objects.exists()


def test_a_customer_who_takes_paper_is_sent_nothing(chiller, customer):
    customer.is_sent_records = False
    customer.save()
    file_event(chiller)

    assert not RecordDelivery.objects.exists()


@pytest.mark.parametrize("origin", [WorkOrigin.OTHER_CONTRACTOR, WorkOrigin.FORMER_RECORDS])
def test_what_others_did_is_theirs_to_hand_over(chiller, origin):
    file_event(chiller, technician=None, origin=origin, contractor_name="Bellweather Refrigeration")

    assert not RecordDelivery.objects.exists()


def test_a_visit_sent_twice_by_the_form_is_handed_over_once(chiller, mailbox):
    visit = submission(chiller)
    for _ in range(2):
        file_event(chiller, **{name: getattr(visit, name) for name in ("submission_id", "technician")})
    send_all()

    assert len(mailbox()) == 1


def test_the_database_takes_no_second_row_for_the_same_sending(over):
    row = RecordDelivery.objects.get()
    row.pk = None

    with pytest.raises(IntegrityError), transaction.atomic():
        row.save(force_insert=True)


def test_an_amendment_is_sent_anew_and_says_so(over, supply, mailbox):
    newer = amend(over, supply)
    send_all()

    subjects = [message["Subject"].partition(":")[0] for message in mailbox()]
    assert subjects == [f"Service record {over}", f"Amended service record {newer} (replaces {over})"]
    assert "Why it was amended: Misread scale" in mailbox()[1].get_body(("plain",)).get_content()


def test_a_voided_record_is_taken_back_by_a_message(over, mailbox):
    service_event_void(by=people.officer(), event=over, reason="Wrong site", filed_at=FILED_AT)
    send_all()

    assert mailbox()[1]["Subject"].startswith(f"Service record {over} is void")


def test_who_takes_paper_by_now_is_no_longer_sent_what_waits(over, customer, mailbox):
    customer.is_sent_records = False
    customer.save()
    send_all()

    assert mailbox() == []
    assert RecordDelivery.objects.get().state == "dropped"


def test_a_failed_sending_is_tried_again_with_the_same_pdf(over, mailbox, settings):
    backend = settings.EMAIL_BACKEND
    settings.EMAIL_BACKEND = "django.core.mail.backends.smtp.EmailBackend"
    settings.EMAIL_HOST, settings.EMAIL_PORT, settings.EMAIL_TIMEOUT = "127.0.0.1", 1, 2
    send_all()
    failed = RecordDelivery.objects.get()
    settings.EMAIL_BACKEND = backend
    send_all(NOW + datetime.timedelta(minutes=2))

    delivery = RecordDelivery.objects.get()
    assert (failed.state, delivery.state, delivery.attempts) == ("waiting", "sent", 2)
    assert failed.last_error.startswith("ConnectionRefusedError")
    assert failed.pdf_sha256 == delivery.pdf_sha256
    assert len(mailbox()) == 1


def test_one_whose_worker_was_killed_is_sent_again_under_the_same_message_id(over, mailbox):
    lost = record_claim(now=NOW)
    record_deliver(delivery=lost, sent_at=NOW)
    # The worker was killed before it could note that.
    RecordDelivery.objects.filter(pk=lost.pk).update(state="sending", sent_at=None)
    send_all(NOW + CLAIM_LASTS)

    first, second = mailbox()
    assert first["Message-ID"] == second["Message-ID"]


def test_asking_again_sends_it_again_to_the_present_address(over, customer, mailbox):
    send_all()
    customer.email = "records@larkspur.example"
    customer.save()
    officer = people.officer()
    for _ in range(2):
        record_send_again(by=officer, event=over, asked_at=NOW)
    send_all()
    record_send_again(by=officer, event=over, asked_at=NOW)
    send_all()

    assert [message["To"] for message in mailbox()] == [
        "imogen@larkspur.example",
        "records@larkspur.example",
        "records@larkspur.example",
    ]
    assert len({message["Message-ID"] for message in mailbox()}) == 3


def test_asking_again_without_an_address_is_refused(over, customer):
    customer.email = ""
    customer.save()

    with pytest.raises(CustomerHasNoAddress, match="has no e-mail address"):
        record_send_again(by=people.officer(), event=over, asked_at=NOW)


def test_the_task_sends_and_notes_what_came_of_it(over, mailbox, time_machine):
    time_machine.move_to(NOW)
    send_records()

    assert len(mailbox()) == 1
    assert TaskRun.objects.get(name="compliance.tasks.send_records").outcome == "1 sent, 0 failed"


def test_the_page_tells_where_the_record_went(client, over, mailbox):
    client.force_login(people.officer())
    page = reverse("event-detail", args=[over.pk])
    before = client.get(page).text
    send_all()
    after = client.get(page).text

    assert "On its way to Imogen Castellane, imogen@larkspur.example" in before
    assert "Send again" not in before
    assert "Sent to Imogen Castellane, imogen@larkspur.example" in after
    copy = client.get(reverse("record-delivery-pdf", args=[over.deliveries.get().pk]))
    assert b"".join(copy.streaming_content).startswith(b"%PDF-")


def test_the_officer_sends_it_again_from_the_page(client, over, mailbox):
    send_all()
    client.force_login(people.officer())

    page = client.post(reverse("event-send", args=[over.pk]), follow=True).text

    assert "Waiting to be sent to imogen@larkspur.example." in page
    assert over.deliveries.last().sending == 2


def test_a_technician_does_not_send_again(client, over):
    client.force_login(people.technician_user())

    assert client.post(reverse("event-send", args=[over.pk])).status_code == 403
    assert "Send" not in client.get(reverse("event-detail", args=[over.pk])).text.partition("Handed over")[2]
