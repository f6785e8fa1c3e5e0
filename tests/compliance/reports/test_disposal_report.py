"""The disposal report: what 82.156(a)(3) asks, with totals that are the ledger's."""

from datetime import timedelta
from decimal import Decimal

import pytest
from django.db import connection

from jobs.models import ServiceEvent, StatementKind, TransferReason
from portal.accounts.models import User
from tests.compliance.reports.asking import document, pdf_text, printed, question
from tests.demo_firm import NOW

SLUG = "disposal"
JOBS, MONTHS, SHIPMENTS, OTHERS = range(4)


def disposal_years() -> list[int]:
    """The years in which the demo firm disposed of appliances."""
    events = ServiceEvent.objects.filter(transfers__reason=TransferReason.DISPOSAL)
    return sorted({event.happened_on.year for event in events})


def test_every_disposal_of_the_demo_firm_is_in_one_of_the_lists(officer: User) -> None:
    expected = {
        event.reference
        for event in ServiceEvent.objects.filter(superseded_by=None, is_void=False)
        if event.statements.filter(kind=StatementKind.RETIRED).exists()
        or event.transfers.filter(reason=TransferReason.DISPOSAL, reverses=None).exists()
    }

    listed: list[str] = []
    for year in range(2020, 2027):
        tables = document(SLUG, question(year)).tables
        listed += [row[5] for row in tables[JOBS].rows] + [row[3] for row in tables[OTHERS].rows]

    assert expected
    assert set(listed) == expected


def test_months_and_jobs_have_the_same_total(officer: User) -> None:
    for year in disposal_years():
        tables = document(SLUG, question(year)).tables
        if tables[JOBS].rows:
            assert tables[JOBS].totals[-2:] == tables[MONTHS].totals[-2:]


def test_recovered_masses_are_the_ledgers(officer: User) -> None:
    for year in disposal_years():
        for row in document(SLUG, question(year)).tables[JOBS].rows:
            with connection.cursor() as cursor:
                cursor.execute(
                    """
                    SELECT COALESCE(SUM(t.mass_mg), 0) FROM jobs_transfer t
                      JOIN jobs_holder source ON source.id = t.from_holder_id
                     WHERE t.event_id = %s AND t.refrigerant = %s AND source.appliance_id IS NOT NULL
                    """,
                    [int(row[5].removeprefix("SE-")), row[6]],
                )
                (mass_mg,) = cursor.fetchone()
            assert abs(row[-1] - Decimal(mass_mg) / 1_000_000) <= Decimal("0.0005")


def test_shipments_are_the_ledgers(officer: User) -> None:
    sent = [
        row for year in range(2022, 2027) for row in document(SLUG, question(year)).tables[SHIPMENTS].rows
    ]
    with connection.cursor() as cursor:
        cursor.execute(
            """
            SELECT COUNT(*), COALESCE(SUM(t.mass_mg), 0) FROM jobs_transfer t
              JOIN jobs_holder target ON target.id = t.to_holder_id
             WHERE target.kind IN ('reclaimer', 'destruction_facility') AND t.reverses_id IS NULL
               AND NOT EXISTS (SELECT 1 FROM jobs_transfer back WHERE back.reverses_id = t.id)
            """
        )
        count, mass_mg = cursor.fetchone()

    assert len(sent) == count > 0
    assert abs(sum(row[-1] for row in sent) - Decimal(mass_mg) / 1_000_000) < Decimal("0.001") * count


def test_the_pdf_says_what_the_tables_say(officer: User) -> None:
    year = disposal_years()[0]
    tables = document(SLUG, question(year)).tables

    text = pdf_text(printed(SLUG, question(year)))

    for row in (*tables[JOBS].rows, *tables[OTHERS].rows):
        assert next(cell for cell in row if str(cell).startswith("SE-")) in text
    assert "82.156(a)(3)" in text


@pytest.mark.parametrize("days", [1200])
def test_what_was_filed_later_is_not_known_earlier(officer: User, days: int) -> None:
    known_at = NOW - timedelta(days=days)

    assert all(
        not table.rows
        for year in disposal_years()
        for table in document(SLUG, question(year, known_at=known_at)).tables
    )


def test_what_happened_after_the_day_asked_about_is_not_in_it(officer: User) -> None:
    for year in disposal_years():
        whole = document(SLUG, question(year))
        days = sorted({row[4] for row in whole.tables[JOBS].rows})
        for as_of in days:
            made = document(SLUG, question(year, as_of=as_of))
            expected = [row for row in whole.tables[JOBS].rows if row[4] <= as_of]
            assert list(made.tables[JOBS].rows) == expected
            assert all(row[0] <= as_of for row in made.tables[SHIPMENTS].rows)
