"""A customer's appliance with a story: an addition, its amendment, a void visit, weigh logs; and the pack of it."""

import datetime
import shutil
import subprocess
import sys
import zipfile
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from pathlib import Path

import pytest
from django.db import transaction
from pytest_django import DjangoDbBlocker

from compliance.selectors.pack_contents import PackScope
from compliance.selectors.reports.parameters import no_progress
from compliance.services.case_filings import Document, case_filing_file
from compliance.services.packs.building import pack_build
from compliance.services.packs.files import VERIFY_SCRIPT
from jobs.models import Appliance
from jobs.services.events import service_event_amend, service_event_void
from jobs.services.log_entries import LogAnswers
from jobs.services.log_readings import log_entry
from jobs.services.weigh_logs import weigh_log_add
from tests import people
from tests.compliance.filings.acts import submission as filing_submission
from tests.factories import (
    FILED_AT,
    ApplianceFactory,
    CustomerFactory,
    SiteFactory,
    charged,
    file_event,
    submission,
    supply_cylinder,
)
from tests.scale_logs import scale_log

KNOWN_AT = FILED_AT + datetime.timedelta(days=30)
ASKED_BY, ASKED_AT = "Rosalind Achterberg", datetime.datetime(2026, 4, 2, 14, 15, tzinfo=datetime.UTC)
HOUR = datetime.timedelta(hours=1)
Check = Callable[[Path], subprocess.CompletedProcess]


def read_log(name="scale, first try.csv", **fields):
    return log_entry(
        name=name,
        content=scale_log(**fields),
        answers=LogAnswers(),
        direction="in",
        division_mg=None,
        field="log",
    )


@dataclass(frozen=True)
class Packed:
    """What was packed, and where."""

    chiller: Appliance
    scope: PackScope
    archive: Path
    work: Path


@pytest.fixture(scope="module")
def packed(
    django_db_setup: None, django_db_blocker: DjangoDbBlocker, tmp_path_factory: pytest.TempPathFactory
) -> Iterator[Packed]:
    """The pack of the chiller's visits of 2026, made once a module; its records are rolled back after it."""
    with django_db_blocker.unblock(), transaction.atomic():
        chiller = _file_the_story()
        scope = PackScope(
            happened_from=datetime.date(2026, 1, 1),
            happened_to=datetime.date(2026, 3, 31),
            known_at=KNOWN_AT,
            asked_by=ASKED_BY,
            asked_at=ASKED_AT,
            customer=chiller.site.customer,
        )
        folder = tmp_path_factory.mktemp("pack")
        built = pack_build(scope, folder / "work", folder / "pack.zip", no_progress)
        yield Packed(chiller, scope, built.path, folder / "work")
        transaction.set_rollback(True)


def _file_the_story() -> Appliance:
    """Filed: 7 lb with a log; amended to 6 lb; 5 lb whose log came later; a void visit; leak detection with a letter.

    And a visit of last year.
    """
    site = SiteFactory(customer=CustomerFactory(name="Larkspur Dairy"), name="Churn Street plant")
    chiller = ApplianceFactory(site=site, name="Rooftop chiller 3 / east")
    supply, officer = supply_cylinder(), people.officer()
    file_event(
        chiller,
        happened_on=datetime.date(2025, 6, 2),
        filed_at=datetime.datetime(2025, 6, 2, 20, tzinfo=datetime.UTC),
        transfers=(charged(supply, "1 lb"),),
    )
    first = file_event(chiller, transfers=(charged(supply, "7 lb", log=read_log()),)).event
    service_event_amend(
        by=officer,
        event=first,
        submission=submission(chiller, transfers=(charged(supply, "6 lb"),)),
        reason="Misread scale",
        filed_at=FILED_AT + HOUR,
    )
    plain = file_event(
        chiller,
        happened_on=datetime.date(2026, 3, 9),
        filed_at=FILED_AT + datetime.timedelta(days=8),
        transfers=(charged(supply, "5 lb"),),
    ).event
    weigh_log_add(
        by=officer,
        transfer=plain.transfers.get(),
        entry=read_log("later.csv", net_thousandths=5_000),
        attached_at=FILED_AT + datetime.timedelta(days=9),
    )
    wrong = file_event(
        chiller,
        happened_on=datetime.date(2026, 3, 10),
        filed_at=FILED_AT + datetime.timedelta(days=9),
        work_done="Wrong appliance",
    ).event
    service_event_void(
        by=officer, event=wrong, reason="Wrong appliance", filed_at=FILED_AT + datetime.timedelta(days=10)
    )
    detection = filing_submission(chiller, "automatic_leak_detection", "2026-03-12")
    letter = Document("letter of the maker.pdf", "application/pdf", b"%PDF-1.7 it watches all of it")
    case_filing_file(
        by=officer,
        submission=replace(detection, documents=(letter,)),
        filed_at=FILED_AT + datetime.timedelta(days=11),
    )
    return chiller


@pytest.fixture
def chiller(packed: Packed, db: None) -> Appliance:
    return packed.chiller


@pytest.fixture
def scope(packed: Packed) -> PackScope:
    """The visits of 2026, with nothing read yet."""
    return replace(packed.scope)


@pytest.fixture
def work(packed: Packed, tmp_path: Path) -> Path:
    """The folder in which the pack was made."""
    shutil.copytree(packed.work, tmp_path / "work")
    return tmp_path / "work"


@pytest.fixture
def archive(packed: Packed, tmp_path: Path) -> Path:
    """The pack as it is sent."""
    return Path(shutil.copy(packed.archive, tmp_path / "pack.zip"))


@pytest.fixture
def folder(archive: Path, scope: PackScope, tmp_path: Path) -> Path:
    """The pack as it is unpacked."""
    with zipfile.ZipFile(archive) as pack:
        pack.extractall(tmp_path / "unpacked")
    return tmp_path / "unpacked" / scope.name


@pytest.fixture
def check(tmp_path_factory: pytest.TempPathFactory) -> Check:
    """Runs the script by itself, away from the portal and its packages."""
    elsewhere = tmp_path_factory.mktemp("elsewhere")
    script = elsewhere / "verify_pack.py"
    script.write_bytes(VERIFY_SCRIPT.read_bytes())

    def run(pack: Path) -> subprocess.CompletedProcess:
        command = [sys.executable, "-I", "-S", str(script), str(pack)]
        return subprocess.run(command, cwd=elsewhere, capture_output=True, text=True, check=False)

    return run
