"""What a record pack holds: every record of the period with all its versions, in forms for people and for machines."""

import csv
import datetime
import hashlib
import io
import json
import zipfile
from dataclasses import replace

import pytest
from django.core.management import CommandError, call_command
from pypdf import PdfReader

from compliance.rulebook.tables import load_tables
from compliance.rulebook.version import RULEBOOK_VERSION
from compliance.selectors.pack_contents import PackScope
from compliance.selectors.reports.parameters import no_progress
from compliance.services.packs.building import pack_build
from compliance.services.packs.files import pack_files
from compliance.services.packs.index import index_csv
from compliance.services.packs.verify_pack import MANIFEST
from jobs.models import CaseFiling, ServiceEvent, WeighLog
from portal.accounts.models import Role, User
from tests.compliance.firm import add_appliance, day, noon
from tests.compliance.packs.conftest import ASKED_AT, ASKED_BY, KNOWN_AT
from tests.compliance.reports.asking import pdf_text
from tests.factories import file_event

pytestmark = pytest.mark.django_db


def names(folder):
    return {path.relative_to(folder).as_posix() for path in folder.rglob("*") if path.is_file()}


# Who asked for the pack, when, and by which rules it says what it says: :mod:`tests.compliance.packs.conftest`.
SAID = (
    "Rosalind Achterberg, 2026-04-02 09:15 CDT",
    f"{RULEBOOK_VERSION}; tables {load_tables().version}",
    "2026-04-01",
)


def test_it_says_who_asked_when_and_by_which_rules(folder):
    readme, index = ((folder / name).read_text() for name in ("README.txt", "index.html"))
    (record,) = (folder / "appliances").iterdir()

    for text in (readme, index, pdf_text(record.read_bytes())):
        assert [words for words in SAID if words not in text] == []
    manifest = json.loads((folder / MANIFEST).read_text())
    assert (manifest["asked_by"], manifest["asked_at"]) == (ASKED_BY, ASKED_AT.isoformat())
    assert (manifest["rulebook"], manifest["tables"]) == (RULEBOOK_VERSION, load_tables().version)


def test_it_says_what_the_check_covers_and_what_not(folder):
    said = " ".join((folder / "README.txt").read_text().split())

    assert "The check covers every byte of each file, and its name." in said
    assert (
        "What the ZIP itself notes of its entries, such as their times, attributes and order, isn't covered"
        in said
    )


def in_2026():
    return [event.reference for event in ServiceEvent.objects.filter(happened_on__year=2026)]


def test_every_record_of_the_period_and_every_version_is_in_it(folder):
    records = in_2026()

    # Filed, its amendment, a plain one, a wrong one and the record that voids it.
    assert len(records) == 5
    expected = {f"records/{record}.{form}" for record in records for form in ("pdf", "json")}
    assert expected <= names(folder)
    assert len([name for name in names(folder) if name.startswith("records/SE-")]) == 10


def test_the_pdfs_are_the_records(folder):
    for record in in_2026():
        said = PdfReader(folder / "records" / f"{record}.pdf").pages[0].extract_text()
        assert f"Service record {record}" in said


def test_an_amended_and_a_void_record_are_marked_in_the_index(folder):
    rows = list(csv.DictReader(io.StringIO((folder / "index.csv").read_text(encoding="utf-8-sig"))))
    first, amendment, _plain, wrong, void = in_2026()

    standing = {row["Record"]: row["Standing"] for row in rows}
    assert standing[first] == f"as first filed; replaced by {amendment}"
    assert standing[amendment] == f"amends {first}"
    assert standing[wrong] == f"as first filed; voided by {void}"
    assert standing[void] == f"voids {wrong}"
    page = (folder / "index.html").read_text()
    visits = [row for row in rows if row["PDF"]]
    assert all(f'href="{row["PDF"]}"' in page and f'href="{row["JSON"]}"' in page for row in visits)


def test_weigh_logs_are_in_it_byte_for_byte(folder):
    found = {hashlib.sha256(path.read_bytes()).hexdigest() for path in (folder / "weigh-logs").iterdir()}

    assert found == {log.file_id for log in WeighLog.objects.all()}
    assert len(found) == 2


def test_filings_and_their_documents_are_in_it(folder):
    filing = CaseFiling.objects.get()

    record = json.loads((folder / "records" / f"{filing.reference}.json").read_text())
    document = folder / "documents" / f"{filing.reference}-0-letter-of-the-maker.pdf"
    assert record == filing.canonical()
    assert hashlib.sha256(document.read_bytes()).hexdigest() == record["attachments"][0]["sha256"]
    page = (folder / "index.html").read_text()
    said = PdfReader(folder / "records" / f"{filing.reference}.pdf").pages[0].extract_text()
    assert "Automatic leak detection installed" in said
    assert record["attachments"][0]["sha256"] in said
    assert f'href="records/{filing.reference}.pdf"' in page
    assert f'href="documents/{document.name}"' in page
    assert "Automatic leak detection installed" in page


# Source: 40 CFR 82.157(l)(1), 84.106(l)(1): how the full charge was determined is on record until long after.
def test_full_charges_and_what_the_books_began_with_are_in_it_whatever_the_period(admin):
    """What is older than the period, since every leak rate in it rests on them."""
    rack = add_appliance(admin, "Rack")
    end = day("2026-03-31")
    scope = PackScope(day("2026-01-01"), end, noon(end), "the officer", noon(end), appliance=rack)

    assert {kind for kind, _ in scope.records} == {"full_charge", "stock_movement"}
    rows = list(csv.DictReader(io.StringIO(index_csv(scope).decode("utf-8-sig"))))
    assert {row["Standing"] for row in rows} == {
        "Full charge determined",
        "Appliance's charge when its books began",
    }
    assert all(link.record_kind in {"full_charge", "stock_movement"} for link in scope.chains[rack])


def test_no_name_leads_out_of_the_folder(folder):
    assert any(
        name.startswith("appliances/") and "Rooftop-chiller-3-east.pdf" in name for name in names(folder)
    )


def test_what_is_outside_the_period_is_a_link_without_a_record(folder):
    links = json.loads((folder / "chains.json").read_text())["chains"][0]["links"]

    assert [link["sequence"] for link in links] == list(range(1, len(links) + 1))
    assert {link["record_kind"] for link in links if link["file"] is None} == {"service_event"}
    assert len([link for link in links if link["file"] is None]) == 1


def test_what_is_filed_later_is_not_in_it(scope, chiller):
    file_event(
        chiller,
        happened_on=datetime.date(2026, 3, 20),
        filed_at=KNOWN_AT + datetime.timedelta(minutes=1),
    )

    assert len(scope.event_ids) == 5
    assert len(scope.chains[chiller]) == 8


def test_as_known_before_a_visit_was_voided_it_stands(scope):
    void = ServiceEvent.objects.get(is_void=True)
    before = replace(scope, known_at=void.filed_at - datetime.timedelta(seconds=1))
    visit = void.supersedes

    files = {file.path: file for file in pack_files(before)}

    (line,) = [
        row
        for row in csv.DictReader(io.StringIO(files["index.csv"].write().decode("utf-8-sig")))
        if row["Record"] == visit.reference
    ]
    assert line["Standing"] == "as first filed"
    said = " ".join(page.extract_text() for page in PdfReader(io.BytesIO(files[line["PDF"]].write())).pages)
    assert void.reference not in said


def test_a_pack_of_an_amended_visit_holds_versions_of_other_days(scope, tmp_path):
    event = ServiceEvent.objects.get(is_void=True)
    day = replace(scope, happened_from=event.happened_on, happened_to=event.happened_on)

    assert day.event_ids == [event.supersedes_id, event.pk]


def test_the_same_files_give_the_same_zip(scope, archive, work, tmp_path):
    again = pack_build(scope, work, tmp_path / "again.zip", no_progress)

    assert again.path.read_bytes() == archive.read_bytes()


def test_each_subject_leads_to_its_appliances(scope, chiller):
    one = replace(scope, customer=None, appliance=chiller)
    site = replace(scope, customer=None, site=chiller.site)

    assert one.appliances == site.appliances == scope.appliances == [chiller]
    assert one.title == f"{chiller}, {chiller.site}, {chiller.site.customer}"


def read_me(archive):
    with zipfile.ZipFile(archive) as pack:
        return pack.read(next(name for name in pack.namelist() if name.endswith("README.txt"))).decode()


def test_the_command_makes_a_pack(chiller, tmp_path, check, monkeypatch):
    monkeypatch.setenv("LOGNAME", "night-clerk")
    out, officer = tmp_path / "pack.zip", User.objects.get(groups__name=Role.COMPLIANCE_OFFICER)
    asked = ("--appliance", chiller.pk, "--to", "2026-03-31", "--by", officer.email)

    call_command("record_pack", *asked, "--out", out, stdout=io.StringIO())

    checked = check(out)
    assert checked.returncode == 0, checked.stdout
    assert f"Asked for by: {officer} (login night-clerk at the command line), 20" in read_me(out)
    assert "All 24 files are as they were made, and 8 records fit their hash chains." in checked.stdout


@pytest.mark.parametrize(
    ("arguments", "error"),
    [
        (["--appliance", "99"], "--appliance 99: there is none of that number."),
        (
            ["--site", "99", "--from", "2026-05-01", "--to", "2026-04-01"],
            "--from 2026-05-01 is after --to 2026-04-01.",
        ),
    ],
)
def test_the_command_says_what_is_wrong(db, arguments, error, tmp_path):
    with pytest.raises(CommandError, match=error.replace(".", r"\.")):
        call_command("record_pack", *arguments, "--out", tmp_path / "pack.zip")


def test_a_scope_names_its_file(scope):
    assert isinstance(scope, PackScope)
    assert scope.name == f"record-pack-customer-{scope.customer.pk}-2026-01-01-2026-03-31"
