"""A scale's log on the event form and on the record: kept, asked about, held against the mass, and given back."""

import datetime
import io
import re

import pypdfium2
import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from jobs.models import ServiceEvent, WeighLog, WeighLogUpload
from jobs.services.log_uploads import LOG_BYTES_MAX
from tests.compliance.events.posting import addition, removal, visit_data
from tests.scale_logs import scale_log

pytestmark = pytest.mark.django_db

READ = "/weigh-logs/read/"


def upload(content, name="scale.csv"):
    return SimpleUploadedFile(name, content, "text/csv")


def post(client, scene, rows, **boxes):
    return client.post(
        f"/appliances/{scene.appliance.pk}/events/add/", visit_data(scene, {"transfers": rows}, **boxes)
    )


def read(client, content=None, **boxes):
    """What the page sends when a file is chosen in the first row."""
    data = {"row": "transfers-0", "unit": "lb", "transfers-0-direction": "in", "transfers-0-mass_unit": "lb"}
    if content is not None:
        data["transfers-0-log_file"] = upload(content)
    return client.post(READ, {**data, **{f"transfers-0-{name}": value for name, value in boxes.items()}})


def token(response):
    return re.search(r'name="transfers-0-log" value="([^"]*)"', response.content.decode())[1]


def filed(client, scene, mass="7.00", content=None, **boxes):
    """A visit with a log, and its record."""
    row = addition(scene, mass, log_file=upload(content or scale_log()), **boxes)
    response = post(client, scene, [row])
    assert response.status_code == 302, response.context["page"].errors
    return ServiceEvent.objects.get()


# --- On the form ---


def test_row_offers_a_file_and_says_what_offline_means(technician_client, scene):
    html = technician_client.get(f"/appliances/{scene.appliance.pk}/events/add/").content.decode()

    assert 'name="transfers-0-log_file"' in html
    assert "a draft on this phone can't hold files" in html
    assert 'enctype="multipart/form-data"' in html


def test_chosen_file_is_read_at_once(technician_client, scene):
    response = read(technician_client, scale_log(), mass_value="7")

    assert response.status_code == 200
    assert "7.000\u00a0lb</span> by the log" in response.content.decode()
    assert "agrees with the log" in response.content.decode()
    assert 'data-value="7.000"' in response.content.decode()
    assert WeighLogUpload.objects.get().owner == scene.user


def test_difference_shows_at_once(technician_client):
    html = read(technician_client, scale_log(), mass_value="7.30").content.decode()

    assert "The mass typed is 0.300 lb more than the log's." in html


def test_unclear_unit_is_asked_for_and_the_file_kept(technician_client):
    asked = read(technician_client, scale_log(header=False))

    html = asked.content.decode()
    assert "Nothing is guessed" in html
    assert "2026-03-02T14:05:01" in html
    assert "expected the unit of the weights" in html

    answered = read(technician_client, log=token(asked), log_unit="kg").content.decode()

    assert "15.432\u00a0lb</span> by the log" in answered  # 7 kg
    assert WeighLogUpload.objects.get().unit == "kg"
    # The page comes back, on another day or after an error, with the file's name alone.
    assert "15.432" in read(technician_client, log=token(asked)).content.decode()


def test_columns_are_asked_for(technician_client):
    lines = scale_log(header=False).decode().splitlines()
    two_weights = "\n".join(f"{line},{line.split(',')[1]}" for line in lines).encode()

    asked = read(technician_client, two_weights, log_unit="lb")
    html = asked.content.decode()
    assert "Column 3" in html
    assert '<option value="2">3: ' in html
    # The file names no columns, so there is nothing to quote.
    assert "expected which column is the weight.<" in html

    answered = read(
        technician_client, log=token(asked), log_unit="lb", log_time_column=0, log_weight_column=2
    )
    assert "7.000\u00a0lb</span> by the log" in answered.content.decode()


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"\x89PNG\r\n\x1a\n\0\0\0\r", "Expected a text file"),
        (b"", "empty"),
        (b"x" * (LOG_BYTES_MAX + 1), "at most 20 MB"),
        (b"only words\nand no numbers\n", "Expected rows whose cells are separated"),
        (b"\xff\xfe\x00\xd8\x00\xd8,1\n", "Expected"),
    ],
)
def test_what_is_no_log_is_refused_in_words(technician_client, content, words):
    response = read(technician_client, content)

    assert response.status_code == 200
    assert words in response.content.decode()
    assert "by the log" not in response.content.decode()


def test_words_of_a_file_stay_words(technician_client):
    hostile = b"<script>alert(1)</script>,b\n1,2\n2,3\n"

    html = read(technician_client, hostile).content.decode()

    assert "<script>" not in html


# The scene plays on 2026-09-01 in Chicago.
OTHER_DAY = "The log was written on 2026-03-02, the visit was on 2026-09-01."


def test_log_of_another_day_is_told_at_once(technician_client, scene):
    boxes = {"row": "transfers-0", "unit": "lb", "site": scene.appliance.site_id, "happened_on": "2026-09-01"}
    row = {"transfers-0-direction": "in", "transfers-0-mass_unit": "lb"}

    def answer(content, **more):
        sent = {**boxes, **row, "transfers-0-log_file": upload(content), **more}
        return technician_client.post(READ, sent).content.decode()

    assert OTHER_DAY in answer(scale_log())
    assert "Another day" not in answer(scale_log(), happened_on="2026-03-02")
    assert "Another day" not in answer(scale_log(), happened_on="today")
    assert "Another day" not in answer(scale_log().replace(b"2026-03-02T", b""))


def test_other_day_stands_on_the_form_the_record_and_its_print(technician_client, officer_client, scene):
    rows = [addition(scene, "7.00", log_file=upload(scale_log()))]
    refused = post(technician_client, scene, rows, work_done="")
    assert OTHER_DAY in refused.content.decode()

    event = filed(technician_client, scene)

    assert (
        f"is of another day.</strong> {OTHER_DAY}"
        in officer_client.get(f"/events/{event.pk}/").content.decode()
    )
    pdf = technician_client.get(f"/events/{event.pk}.pdf").content
    words = " ".join(page.get_textpage().get_text_range() for page in pypdfium2.PdfDocument(io.BytesIO(pdf)))
    assert OTHER_DAY in " ".join(words.split())


def test_log_of_the_day_says_nothing_of_days(technician_client, scene):
    event = filed(technician_client, scene, content=scale_log(starts_at=datetime.datetime(2026, 9, 1, 9)))  # noqa: DTZ001

    assert "nother day" not in technician_client.get(f"/events/{event.pk}/").content.decode()


def test_log_of_the_other_direction_is_refused(technician_client):
    html = read(technician_client, scale_log(rises=True)).content.decode()

    assert "the weight falls, since refrigerant went into the appliance" in html


@pytest.mark.parametrize("row", ["", "leaks-0", "transfers-x", 'transfers-0" onload='])
def test_row_must_be_one(technician_client, row):
    assert technician_client.post(READ, {"row": row}).status_code == 400


def test_form_with_another_error_keeps_the_log(technician_client, scene):
    row = addition(scene, "7.00", log_file=upload(scale_log()))

    refused = post(technician_client, scene, [row], work_done="")

    assert refused.status_code == 200
    assert "7.000\u00a0lb</span> by the log" in refused.content.decode()
    again = post(technician_client, scene, [addition(scene, "7.00", log=token(refused))])
    assert again.status_code == 302
    assert WeighLog.objects.get().file.content == scale_log()


def test_unclear_log_comes_back_with_its_question(technician_client, scene):
    refused = post(
        technician_client, scene, [addition(scene, "7.00", log_file=upload(scale_log(header=False)))]
    )

    assert "Unit of the weight" in refused.content.decode()
    assert [error.label for error in refused.context["page"].errors] == ["Transfer 1: Unit of the weight"]
    answered = post(technician_client, scene, [addition(scene, "7.00", log=token(refused), log_unit="lb")])
    assert answered.status_code == 302
    assert WeighLog.objects.get().unit == "lb"


def test_refused_file_stands_beside_its_box(technician_client, scene):
    refused = post(technician_client, scene, [addition(scene, "7.00", log_file=upload(b"\0\1\2"))])

    assert [error.label for error in refused.context["page"].errors] == ["Transfer 1: The scale's log"]
    assert ServiceEvent.objects.count() == 0


def test_lost_upload_is_said(technician_client, scene):
    sent = read(technician_client, scale_log())
    WeighLogUpload.objects.all().delete()

    refused = post(technician_client, scene, [addition(scene, "7.00", log=token(sent))])

    assert "not here any more" in refused.content.decode()
    assert ServiceEvent.objects.count() == 0


def test_someone_elses_upload_is_not_found(technician_client, officer_client, scene):
    theirs = read(officer_client, scale_log())

    assert "not here any more" in read(technician_client, log=token(theirs)).content.decode()


def test_recovery_with_its_log(technician_client, scene):
    row = removal(scene, "7.00", log_file=upload(scale_log(rises=True)))

    assert post(technician_client, scene, [row]).status_code == 302
    assert WeighLog.objects.get().reading.is_beyond_tolerance is False


def test_filing_twice_files_once(technician_client, scene):
    data = visit_data(scene, {"transfers": [addition(scene, "7.00", log_file=upload(scale_log()))]})
    address = f"/appliances/{scene.appliance.pk}/events/add/"
    technician_client.post(address, data)
    data["transfers-0-log_file"] = upload(scale_log())

    again = technician_client.post(address, data)

    assert again.url.endswith("filed=again")
    assert WeighLog.objects.count() == 1


# --- On the record ---


def test_record_shows_the_plot_and_the_figures(technician_client, scene):
    event = filed(technician_client, scene)

    html = technician_client.get(f"/events/{event.pk}/").content.decode()

    assert html.count('<svg class="chart"') == 2
    assert "Mass agrees" in html
    assert WeighLog.objects.get().file_id in html
    assert 'style="' not in html.split("Scale's log of transfer 1")[1].split("</section>")[0]


def test_difference_marks_the_record_and_is_found(technician_client, officer_client, scene):
    event = filed(technician_client, scene, "7.30")

    page = officer_client.get(f"/events/{event.pk}/").content.decode()
    everything = officer_client.get("/events/").content.decode()
    found = officer_client.get("/events/?differs=on").context["events"]

    assert "Mass differs from its log." in page
    assert "0.300 lb more than" in page
    assert "1 event whose mass differs from its log" in everything
    assert list(found) == [event]


def test_nothing_differs_where_the_mass_agrees(technician_client, scene):
    filed(technician_client, scene)

    response = technician_client.get("/events/?differs=on")

    assert list(response.context["events"]) == []
    assert "differs from its log</a>" not in technician_client.get("/events/").content.decode()


def test_file_comes_back_byte_by_byte(technician_client, scene):
    content = b"\xef\xbb\xbf" + scale_log().replace(b"\n", b"\r\n")
    filed(technician_client, scene, content=content)

    response = technician_client.get(f"/weigh-logs/{WeighLog.objects.get().pk}/file/")

    assert response.content == content
    assert response["Content-Type"] == "text/plain"
    assert response["X-Content-Type-Options"] == "nosniff"
    assert response["Content-Disposition"] == 'attachment; filename="scale.csv"'


def test_amending_keeps_the_log(technician_client, officer_client, scene):
    event = filed(technician_client, scene, "7.30")
    form = officer_client.get(f"/events/{event.pk}/amend/")
    kept = token(form)
    assert "7.000\u00a0lb</span> by the log" in form.content.decode()

    response = officer_client.post(
        f"/events/{event.pk}/amend/",
        visit_data(scene, {"transfers": [addition(scene, "7.00", log=kept)]}, reason="Mistyped."),
    )

    assert response.status_code == 302
    newest = ServiceEvent.objects.order_by("-pk").first()
    assert newest.transfers.get(reverses=None).weigh_log.file_id == WeighLog.objects.first().file_id
    assert "with the log scale.csv" in officer_client.get(f"/events/{newest.pk}/").content.decode()


# --- Added later ---


@pytest.fixture
def bare(technician_client, scene):
    """A filed visit without a log."""
    post(technician_client, scene, [addition(scene, "7.00")])
    return ServiceEvent.objects.get()


def test_technician_adds_a_log_to_what_they_filed(technician_client, scene, bare):
    address = reverse("weigh-log-add", args=[bare.transfers.get().pk])
    assert address in technician_client.get(f"/events/{bare.pk}/").content.decode()

    seen = technician_client.post(address, {"transfers-0-log_file": upload(scale_log())})
    assert "The mass on record agrees with the log" in seen.content.decode()
    assert OTHER_DAY in seen.content.decode()
    assert WeighLog.objects.count() == 0
    added = technician_client.post(address, {"transfers-0-log": token(seen), "seen": token(seen)})

    assert added.status_code == 302
    assert WeighLog.objects.get().is_added_later
    page = technician_client.get(f"/events/{bare.pk}/").content.decode()
    assert "<dt>Added</dt>" in page
    assert address not in page


def test_adding_nothing_is_refused_in_words(technician_client, bare):
    response = technician_client.post(reverse("weigh-log-add", args=[bare.transfers.get().pk]), {})

    assert "Choose the file of the scale's log." in response.content.decode().replace("&#x27;", "'")


def test_fragment_of_a_filed_transfer_holds_its_mass(technician_client, bare):
    data = {"row": "transfers-0", "unit": "lb", "transfer": bare.transfers.get().pk}

    html = technician_client.post(
        READ, {**data, "transfers-0-log_file": upload(scale_log())}
    ).content.decode()

    assert "The mass on record agrees" in html
    assert 'name="seen"' in html
    assert "data-log-use" not in html


def test_officer_may_add_one_and_others_may_not(officer_client, client, scene, bare):
    address = reverse("weigh-log-add", args=[bare.transfers.get().pk])

    assert officer_client.get(address).status_code == 200
    client.force_login(scene.admin)
    assert client.get(address).status_code == 403
    client.force_login(scene.stranger)
    assert client.get(address).status_code == 403
    assert client.post(READ, {"row": "transfers-0"}).status_code == 403


def test_printed_record_shows_the_plot(technician_client, scene):
    event = filed(technician_client, scene, "7.30")

    pdf = technician_client.get(f"/events/{event.pk}.pdf").content

    document = pypdfium2.PdfDocument(io.BytesIO(pdf))
    words = " ".join(page.get_textpage().get_text_range() for page in document)
    assert "Scale's log of transfer 1" in words
    assert "Weight on the scale, lb" in words
    assert "0.300 lb more than the log's" in " ".join(words.split())
    colours = {
        colour
        for page in document
        for _, colour in page.render().to_pil().convert("RGB").getcolors(10_000_000)
    }
    # The line's petrol (charts.css).
    assert any(abs(r - 0x0B) + abs(g - 0x5F) + abs(b - 0x6B) < 40 for r, g, b in colours)
