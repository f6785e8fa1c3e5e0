"""The mailbox page: what the folder backend wrote, shown as text."""

from pathlib import Path

import pytest
from django.core.mail import EmailMultiAlternatives, send_mail
from django.test import Client
from django.urls import reverse

from portal.web.letters import letter_names
from portal.web.views import PAGE_SIZE
from tests import people

pytestmark = pytest.mark.django_db


@pytest.fixture
def folder(settings, tmp_path: Path) -> Path:
    settings.EMAIL_BACKEND = "portal.web.mailbox.MailboxFolderBackend"
    settings.MAILBOX_DIR = tmp_path / "mailbox"
    return settings.MAILBOX_DIR


@pytest.fixture
def officer(client: Client) -> Client:
    client.force_login(people.officer())
    return client


def test_an_empty_mailbox_says_what_will_come(folder: Path, officer: Client) -> None:
    assert "No messages yet" in officer.get(reverse("mailbox")).content.decode()


def test_the_mailbox_lists_the_newest_message_first(folder: Path, officer: Client) -> None:
    send_mail("Repair due in 7 days", "Rack A …", None, ["office@example.org"])
    send_mail("Répair <overdue>", "Rack A …", None, ["office@example.org", "chief@example.org"])

    html = officer.get(reverse("mailbox")).content.decode()

    assert html.index("Répair &lt;overdue&gt;") < html.index("Repair due in 7 days")
    assert "office@example.org, chief@example.org" in html


def test_the_mailbox_is_paged(folder: Path, officer: Client) -> None:
    for number in range(PAGE_SIZE + 1):
        send_mail(f"Message {number:02}", "…", None, ["office@example.org"])

    second = officer.get(reverse("mailbox"), {"page": 2})

    assert [letter.subject for letter in second.context["letters"]] == ["Message 00"]


def test_a_message_is_shown_as_text_whatever_is_in_it(folder: Path, officer: Client) -> None:
    message = EmailMultiAlternatives(
        "Deadline", "Due <script>alert(1)</script>\nRack A", None, ["a@example.org"]
    )
    message.attach_alternative("<p>Due</p>", "text/html")
    message.attach("deadline.ics", "BEGIN:VCALENDAR", "text/calendar")
    message.send()
    name = letter_names(folder)[0]

    html = officer.get(reverse("mailbox-letter", args=[name])).content.decode()

    assert "Due &lt;script&gt;alert(1)&lt;/script&gt;\nRack A" in html.replace("\r\n", "\n")
    assert "deadline.ics" in html


@pytest.mark.parametrize(
    "name",
    ["nothing", "..", "00000000000000000000-00000000", "x" * 200, "00000000000000000000-00000000.part"],
)
def test_a_message_that_is_not_there_is_not_found(name: str, folder: Path, officer: Client) -> None:
    folder.mkdir()
    (folder / "nothing.eml").write_text("Subject: not one of ours\n\n")

    assert officer.get(f"/mailbox/{name}/").status_code == 404


def test_half_a_message_and_strange_files_are_left_out(folder: Path, officer: Client) -> None:
    folder.mkdir()
    (folder / "00000000000000000001-0000000a.part").write_text("Subject: half")
    (folder / "notes.eml").write_text("Subject: a stray file")

    assert "No messages yet" in officer.get(reverse("mailbox")).content.decode()


def test_a_portal_that_sends_by_smtp_says_so(settings, officer: Client) -> None:
    settings.EMAIL_BACKEND = "django.core.mail.backends.smtp.EmailBackend"

    assert "Mail goes out by SMTP" in officer.get(reverse("mailbox")).content.decode()


@pytest.mark.parametrize(
    ("maker", "status"),
    [
        (people.office_admin, 200),
        (people.officer, 200),
        (people.technician_user, 403),
        (people.stranger, 403),
    ],
)
def test_the_mailbox_opens_to_office_and_officer(maker, status: int, folder: Path, client: Client) -> None:
    client.force_login(maker())

    assert client.get(reverse("mailbox")).status_code == status


def test_what_hangs_on_a_message_can_be_saved_but_never_runs(folder: Path, officer: Client) -> None:
    message = EmailMultiAlternatives("Record", "…", None, ["a@example.org"])
    message.attach("record.html", "<script>alert(1)</script>", "text/html")
    message.send()
    address = reverse("mailbox-attachment", args=[letter_names(folder)[0], 0])

    response = officer.get(address)

    assert b"".join(response.streaming_content) == b"<script>alert(1)</script>"
    assert response["Content-Disposition"] == 'attachment; filename="record.html"'
    assert response["Content-Type"] == "application/octet-stream"
    assert officer.get(address.replace("/0/", "/1/")).status_code == 404
