"""What is filed about a facility's leak rate method, in few words: a change of it, and a correction of the register."""

import uuid
from dataclasses import replace

import time_machine

from compliance.selectors.pack_contents import PackScope
from compliance.services.method_changes import MethodChangeEntry
from compliance.services.method_corrections import MethodCorrectionEntry, method_correction_file
from compliance.services.packs.files import PackFile, pack_files
from jobs.models import LeakRateMethodCorrection, Site
from portal.accounts.models import User
from tests.compliance.firm import day, noon

CHANGED_AT = noon(day("2026-06-04"))
CHANGE = MethodChangeEntry(
    method="rolling_average",
    happened_on=day("2026-06-02"),
    acquired_on=day("2026-05-01"),
    acquired_from="Larkspur Holdings",
    is_owners_method=True,
    decided_by="Ida Larkspur",
)
CORRECTED_AT = noon(day("2026-08-04"))
CORRECTION = MethodCorrectionEntry(
    method="rolling_average",
    mistake="The wrong box was ticked when the site was registered",
    shown_by="The owner’s sheets of 2026-02-02 and 2026-06-02",
    is_mistake=True,
)


def pack_of(site: Site) -> dict[str, PackFile]:
    """The files of a record pack of a site and the year 2026, by their paths."""
    at = noon(day("2026-12-31"))
    scope = PackScope(day("2026-01-01"), day("2026-12-31"), at, "the officer", at, site=site)
    return {file.path: file for file in pack_files(scope)}


def correct(officer: User, site: Site, **fields: object) -> LeakRateMethodCorrection:
    """File a correction, complete but for ``fields``; the register's history bears its time, as in the portal."""
    with time_machine.travel(CORRECTED_AT, tick=False):
        entry = replace(CORRECTION, submission_id=uuid.uuid4(), **fields)
        return method_correction_file(by=officer, site=site, entry=entry)
