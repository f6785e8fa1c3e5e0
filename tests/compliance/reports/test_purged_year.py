"""The mass balance of a year in which purged refrigerant was destroyed: it left the equipment, and went to no air.

Both balances are those of US EPA's guidance on direct fugitive emissions from refrigeration and air conditioning, in
which what was destroyed counts as disbursed; the figures are reckoned by hand.
"""

import datetime
from decimal import Decimal

import pytest

from jobs.models import Appliance
from portal.accounts.models import User
from tests.compliance.filings.acts import file_case
from tests.compliance.firm import day, over_the_threshold
from tests.compliance.reports.asking import document, question

pytestmark = pytest.mark.django_db


def _row(title: str, known_at: datetime.datetime) -> dict[str, object]:
    asked = question(as_of=day("2026-04-10"), known_at=known_at)
    (section,) = [one for one in document("mass-balance", asked).sections if one.title.startswith(title)]
    (table,) = section.tables
    rows = [dict(zip(table.header, row, strict=True)) for row in table.rows]
    return next(row for row in rows if row["Refrigerant"] == "R-410A")


def test_what_was_destroyed_is_not_emitted(admin: User, officer: User, chiller: Appliance) -> None:
    visit = over_the_threshold(admin, chiller, "2026-03-02")
    filing = file_case(officer, chiller, "purged_and_destroyed", "2026-03-04", addition_visit=visit.reference)
    before, after = filing.filed_at - datetime.timedelta(seconds=1), filing.filed_at

    # 5 lb of the 12 lb that were added replaced what was destroyed.
    for title in ("To the air: HFC", "Checked by"):
        assert _row(title, before)["To the air (lb)"] - _row(title, after)["To the air (lb)"] == 5
    then, now = _row("Checked by", before), _row("Checked by", after)
    assert now["Disbursed (lb)"] - then["Disbursed (lb)"] == 5
    assert now["To the air (lb)"] == now["Simplified balance (lb)"] + now["Full charges redetermined (lb)"]
    assert now["Unexplained (lb)"] == Decimal("0.000")
