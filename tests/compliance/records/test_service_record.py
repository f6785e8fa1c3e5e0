"""The printed service record says what the law asks for, with its arithmetic, on the paper of its country."""

import datetime
import io
import re

import pypdfium2
import pytest
from django.urls import reverse
from pypdf import PdfReader

from compliance.selectors.event_record import whole_events
from compliance.selectors.service_record import service_record
from compliance.services.records.printing import service_record_pdf
from jobs.models import Jurisdiction
from jobs.services.events import service_event_amend, service_event_void
from tests import people
from tests.factories import FILED_AT, CylinderFactory, charged, file_event, recovered, submission

pytestmark = pytest.mark.django_db

FOOT = re.compile(r"Fennimore & Oduya Mechanical\s+Page \d+ of \d+")
LETTER_PT, A4_PT = (612, 792), (595, 842)


# What 40 CFR 84.106(l)(2) and (l)(4) ask for, and the arithmetic.
ASKED_FOR = (
    # 40 CFR 84.106(l)(2)(i) to (vii): identity and location of the appliance,
    "Rooftop chiller 3, serial no. RC3-5512",
    "Churn Street plant, 12 Mill Lane, Dunmore, US",
    # the date of the service, the parts serviced and what was done to each, who did it,
    "Date at the site 2026-03-02",
    "Liquid line filter drier: replaced.",
    "Technician Ivo Brandt",
    # the amount and type of refrigerant added, the full charge, the leak rate and the method used.
    "7.000 lb (3.175 kg) of R-410A added, nothing removed",
    "Full charge 60.000 lb (27.216 kg); determined by: manufacturer's figure",
    "11.67 % over the 10 % threshold; annualizing method",
    # The arithmetic: 7 / 60 × 365 / 365 × 100.
    "7.000 / 60.000 × 365 / 365 × 100 = 11.67 %",
    # The clocks: 30 days after the day of the addition (84.106(d)).
    "Leak repair: due by 2026-04-01; open",
    "Keep it until 2029-03-02 or longer",
    "under 40 CFR 84.106(l)(2) and (l)(4)",
    "Signed by Imogen Castellane",
    "It informs; it gives no legal advice.",
)


def printed(event) -> PdfReader:
    return PdfReader(io.BytesIO(service_record_pdf(service_record(whole_events().get(pk=event.pk)))))


def text(event) -> str:
    """What it says, without the foot of its pages."""
    pages = [FOOT.sub("", page.extract_text()) for page in printed(event).pages]
    return re.sub(r"\s+", " ", " ".join(pages))


def amended(event, supply, mass="5 lb"):
    return service_event_amend(
        by=people.officer(),
        event=event,
        submission=submission(
            event.appliance,
            technician=event.technician,
            transfers=(charged(supply, mass),),
            work_done=event.work_done,
        ),
        reason="Misread scale",
        filed_at=FILED_AT + datetime.timedelta(hours=1),
    ).event


def test_a_record_says_what_the_law_asks_for(over):
    said = text(over)

    assert [words for words in ASKED_FOR if words not in said] == []


def test_a_record_shows_its_place_in_the_chains(over):
    said = text(over).replace(" ", "")

    for link in service_record(whole_events().get(pk=over.pk)).links:
        assert link.sha256 in said
        assert f"Chain{link.chain},no.{link.sequence}" in said


def test_what_was_removed_on_disposal_stands_there(chiller, supply):
    event = file_event(
        chiller,
        transfers=(recovered(CylinderFactory(), "20 lb", reason="disposal"),),
        work_kinds=("disposal",),
    ).event

    assert "nothing of R-410A added, 20.000 lb (9.072 kg) removed" in text(event)
    assert "Disposal of the appliance" in text(event)


def test_a_record_printed_again_says_what_it_said_when_it_was_filed(over, supply):
    before = text(over)
    newer = amended(over, supply)

    again = text(over)

    assert f"Replaced by {newer}" in again
    assert again.partition("Leak rate")[2].partition("Filed")[0] in before
    assert "11.67 % over the 10 % threshold" in again


def test_an_amended_record_says_what_it_changed_and_why(over, supply):
    said = text(amended(over, supply))

    assert f"Amends {over} and takes its place." in said
    assert "“Misread scale”" in said
    assert "8.33 % not over the 10 % threshold" in said
    assert "7 lb R-410A into the appliance" in said
    assert "5 lb R-410A into the appliance" in said


def test_a_voided_record_gives_no_leak_rate(over):
    void = service_event_void(by=people.officer(), event=over, reason="Wrong site", filed_at=FILED_AT).event

    assert "never took place: “Wrong site”" in text(void)
    assert "threshold" not in text(void)
    assert f"Voided by {void}" in text(over)


@pytest.mark.parametrize(
    ("jurisdiction", "size"),
    [
        (Jurisdiction.US_FEDERAL, LETTER_PT),
        (Jurisdiction.US_CALIFORNIA, LETTER_PT),
        (Jurisdiction.EU, A4_PT),
        (Jurisdiction.UK, A4_PT),
    ],
)
def test_the_paper_is_that_of_the_sites_country(over, jurisdiction, size):
    over.appliance.site.jurisdiction = jurisdiction
    over.appliance.site.save()

    pages = printed(over).pages

    assert {(round(page.mediabox.width), round(page.mediabox.height)) for page in pages} == {size}


def test_a_record_is_tagged_for_readers_and_numbers_its_pages(over):
    document = printed(over)

    assert document.trailer["/Root"]["/MarkInfo"]["/Marked"]
    assert f"Service record {over}" in document.metadata.title
    for number, page in enumerate(document.pages, start=1):
        assert f"Page {number} of {len(document.pages)}" in page.extract_text()


def test_nothing_reaches_into_the_margins(over):
    """No text is cut: the outermost 10 mm of every page are white."""
    pdf = service_record_pdf(service_record(whole_events().get(pk=over.pk)))
    for page in pypdfium2.PdfDocument(pdf):
        picture = page.render(scale=1, grayscale=True).to_numpy()
        assert picture[:, :28].min() == picture[:, -28:].min() == 255


def test_the_page_leads_to_the_pdf(client, over):
    client.force_login(people.technician_user())
    address = reverse("event-pdf", args=[over.pk])

    response = client.get(address)

    assert f'href="{address}"' in client.get(reverse("event-detail", args=[over.pk])).text
    assert response["Content-Type"] == "application/pdf"
    assert response["Content-Disposition"] == f'inline; filename="service-record-{over}.pdf"'
    assert response.content.startswith(b"%PDF-")


def test_a_stranger_gets_no_pdf(client, over):
    client.force_login(people.stranger())

    assert client.get(reverse("event-pdf", args=[over.pk])).status_code == 403
