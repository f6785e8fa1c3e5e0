"""What the filing of records about a facility's leak rate method shares."""

import datetime
from collections.abc import Callable
from typing import TypeVar
from uuid import UUID

from compliance.services.assessments import appliance_reassess
from jobs.models import Appliance, LeakRateMethodChange, LeakRateMethodCorrection, Site
from jobs.services.chain import chain_extend
from jobs.services.entries import local_date
from jobs.services.once import file_once
from jobs.services.refusals import Refusals
from portal.accounts.models import User

Record = TypeVar("Record", LeakRateMethodChange, LeakRateMethodCorrection)


def facility_record_once(
    records: type[Record], submission_id: UUID, site: Site, act: Callable[[Site], Record]
) -> Record:
    """Run an act that files a record about a site, under the site's lock; sent twice it is filed once.

    Args:
        records: the kind of the record.
        submission_id: made by the form.
        site: the facility.
        act: files it, given the site as it is now.
    """

    def filed() -> Record:
        locked = _lock(site)
        return records.objects.filter(submission_id=submission_id).first() or act(locked)

    return file_once(records, submission_id, filed)


def _lock(site: Site) -> Site:
    """The site as it is now; no visit of its appliances, and no other record of this kind, is filed meanwhile."""
    list(Appliance.objects.select_for_update(no_key=True, of=("self",)).filter(site=site).order_by("pk"))
    locked = Site.objects.select_for_update(no_key=True, of=("self",)).select_related("customer")
    return locked.get(pk=site.pk)


def facility_record_save(row: Record, *, by: User, filed_at: datetime.datetime) -> Record:
    """Save a record, lengthen the chains of the appliances that it names, and assess all of its site anew.

    Args:
        row: as checked; the caller holds the site's lock.
        by: who files.
        filed_at: the instant that counts as now.

    Raises:
        SubmissionRefused: a field is too long; nothing is saved.
    """
    row.filed_by, row.filed_at = by, filed_at
    refusals = Refusals()
    refusals.check_fields(row)
    refusals.raise_any()
    row.save()
    chain_extend(row, Appliance.objects.filter(pk__in=row.appliance_ids))
    as_of = local_date(row.site, filed_at)
    for appliance in row.site.appliances.order_by("pk"):
        appliance_reassess(appliance=appliance, as_of=as_of, assessed_at=filed_at)
    return row
