"""A filing stays as it was filed: once, chained, with its documents, and undone by a later one alone."""

import datetime
import zlib
from dataclasses import replace

import pytest
from django.db import connection

from compliance.models import Obligation
from compliance.selectors.facts import appliance_facts
from compliance.selectors.facts_in_bulk import facts_in_bulk
from compliance.services.assessments import appliance_reassess
from compliance.services.case_filings import Document, case_filing_file, case_filing_withdraw
from jobs.models import Appliance, CaseFiling, DocumentFile
from jobs.services.verification import records_verify
from tests.compliance.filings.acts import amend_case, file_case, submission
from tests.compliance.filings.refused import refused
from tests.compliance.firm import day, noon, over_the_threshold
from tests.filed_tables import unfixed_tables

pytestmark = pytest.mark.django_db

NOW = noon(day("2026-03-25"))
LETTER = Document("quote.pdf", "application/pdf", b"%PDF-1.7 delivery in six weeks")


@pytest.fixture
def leaking(admin, chiller):
    """12 % on 2 March 2026: the repair is due on 1 April (40 CFR 84.106(d))."""
    over_the_threshold(admin, chiller, "2026-03-02")
    return chiller


def _due(appliance):
    return Obligation.objects.get(appliance=appliance, kind="repair").due_on


def test_the_same_form_sent_twice_files_once(officer, leaking):
    form = submission(leaking, "extension", "2026-03-20")

    first, second = (case_filing_file(by=officer, submission=form, filed_at=NOW) for _ in range(2))

    assert first == second
    assert CaseFiling.objects.count() == 1


def test_the_same_form_with_other_contents_is_refused(officer, leaking):
    form = submission(leaking, "extension", "2026-03-20")
    case_filing_file(by=officer, submission=form, filed_at=NOW)
    other = replace(form, details={**form.details, "supplier": "Somebody else"})

    with refused("submission_id", "with other contents"):
        case_filing_file(by=officer, submission=other, filed_at=NOW)


def test_withdrawn_it_counts_no_more_and_stays_readable(officer, leaking):
    filing = file_case(officer, leaking, "extension", "2026-03-20")

    case_filing_withdraw(by=officer, filing=filing, reason="Sent for another rack", filed_at=NOW)

    assert _due(leaking) == day("2026-04-01")
    assert CaseFiling.objects.get(pk=filing.pk).superseded_by.is_void


def test_what_was_withdrawn_is_not_amended(officer, leaking):
    filing = file_case(officer, leaking, "extension", "2026-03-20")
    case_filing_withdraw(by=officer, filing=filing, reason="Sent for another rack", filed_at=NOW)

    with refused("filing", "superseded by"):
        amend_case(officer, filing, "2026-03-21")


def test_a_reason_is_needed(officer, leaking):
    filing = file_case(officer, leaking, "extension", "2026-03-20")

    with refused("reason", "Expected why."):
        case_filing_withdraw(by=officer, filing=filing, reason=" ", filed_at=NOW)


def test_a_day_in_the_future_is_refused(officer, leaking):
    form = submission(leaking, "extension", "2026-03-26")

    with refused("happened_on", "to 2026-03-25"):
        case_filing_file(by=officer, submission=form, filed_at=NOW)


def test_it_stands_in_the_chain_of_its_appliance(officer, leaking):
    filing = file_case(officer, leaking, "extension", "2026-03-20")
    assert list(records_verify()) == []

    with unfixed_tables(), connection.cursor() as cursor:
        cursor.execute("UPDATE jobs_casefiling SET note = 'later' WHERE id = %s", [filing.pk])

    (broken,) = records_verify()
    assert (broken.record_kind, broken.record_id) == ("case_filing", filing.pk)


def test_its_documents_are_kept_once_and_watched(officer, leaking):
    form = replace(submission(leaking, "extension", "2026-03-20"), documents=(LETTER, LETTER))
    filing = case_filing_file(by=officer, submission=form, filed_at=NOW)
    (file,) = DocumentFile.objects.all()
    assert (file.content, filing.attachments.count()) == (LETTER.content, 2)
    assert list(records_verify()) == []

    with unfixed_tables(), connection.cursor() as cursor:
        cursor.execute("UPDATE jobs_documentfile SET compressed = %s", [zlib.compress(b"another letter")])

    assert {broken.record_id for broken in records_verify()} == {filing.pk}


def test_an_amendment_keeps_the_documents_of_the_former(officer, leaking):
    form = replace(submission(leaking, "extension", "2026-03-20"), documents=(LETTER,))
    filing = case_filing_file(by=officer, submission=form, filed_at=NOW)

    amended = amend_case(officer, filing, "2026-03-21", filed_on="2026-03-25")

    assert [row.name for row in amended.attachments.all()] == ["quote.pdf"]


@pytest.mark.parametrize(("content", "words"), [(b"", "empty"), (b"x" * (20 * 1024 * 1024 + 1), "20 MB")])
def test_a_document_that_is_none_is_refused(officer, leaking, content, words):
    document = Document("quote.pdf", "application/pdf", content)
    form = replace(submission(leaking, "extension", "2026-03-20"), documents=(document,))

    with refused("documents", words):
        case_filing_file(by=officer, submission=form, filed_at=NOW)


def test_its_facts_are_the_same_alone_and_with_many(officer, leaking):
    filing = file_case(officer, leaking, "extension", "2026-03-20")
    amended = amend_case(officer, filing, "2026-03-21", filed_on="2026-03-25")

    for known_at, on in ((noon(day("2026-03-20")), "2026-03-20"), (NOW, "2026-03-21")):
        (together,) = facts_in_bulk(Appliance.objects.select_related("site"), known_at)
        _, alone = appliance_facts(leaking, known_at)
        assert together.facts == alone
        assert [fact.on for fact in alone if fact.kind == "extension"] == [day(on)]
    assert amended.original == filing


def test_assessing_anew_changes_nothing(officer, leaking):
    file_case(officer, leaking, "extension", "2026-03-20")
    before = list(Obligation.objects.order_by("pk").values())

    appliance_reassess(
        appliance=leaking, as_of=day("2026-03-20"), assessed_at=datetime.datetime.now(datetime.UTC)
    )

    assert list(Obligation.objects.order_by("pk").values()) == before
