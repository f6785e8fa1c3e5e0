"""What changes of a facility's method and corrections of the register share: filed once, kept, in the chains."""

import datetime
import uuid
from collections.abc import Callable
from dataclasses import dataclass, replace

import pytest

from compliance.selectors.pack_contents import PackScope
from compliance.services.method_changes import MethodChangeEntry, method_change_file
from compliance.services.method_corrections import MethodCorrectionEntry, method_correction_file
from jobs.errors import FiledRecordIsFixed
from jobs.models import ChainLink, LeakRateMethodChange, LeakRateMethodCorrection
from jobs.services.verification import records_verify
from tests.compliance.facility_records.acts import CHANGE, CHANGED_AT, CORRECTED_AT, CORRECTION
from tests.compliance.firm import day

pytestmark = pytest.mark.django_db


@dataclass(frozen=True)
class Kind:
    """One of the two: its name in the chains, a field that somebody might alter, and how it is filed."""

    name: str
    model: type[LeakRateMethodChange] | type[LeakRateMethodCorrection]
    altered: str
    act: Callable[..., LeakRateMethodChange | LeakRateMethodCorrection]
    entry: MethodChangeEntry | MethodCorrectionEntry
    filed_at: datetime.datetime

    def file(self, officer, site, **fields):
        entry = replace(self.entry, **({"submission_id": uuid.uuid4()} | fields))
        return self.act(by=officer, site=site, entry=entry, filed_at=self.filed_at)


KINDS = (
    Kind("method_change", LeakRateMethodChange, "decided_by", method_change_file, CHANGE, CHANGED_AT),
    Kind(
        *("method_correction", LeakRateMethodCorrection, "mistake"),
        *(method_correction_file, CORRECTION, CORRECTED_AT),
    ),
)


@pytest.fixture(params=KINDS, ids=lambda kind: kind.name)
def kind(request):
    return request.param


@pytest.fixture
def store(acquired_store):
    return acquired_store


def test_it_stands_in_the_chain_of_each_appliance(officer, store, kind):
    record = kind.file(officer, store)

    links = ChainLink.objects.filter(record_kind=kind.name, record_id=record.pk)
    assert sorted(links.values_list("chain", flat=True)) == [
        f"appliance:{row.pk}" for row in store.appliances.order_by("pk")
    ]
    assert list(records_verify()) == []


def test_one_that_stands_in_no_chain_is_found(officer, store, kind):
    record = kind.file(officer, store)
    copied = {field.attname: getattr(record, field.attname) for field in record._meta.concrete_fields}
    copied |= {"id": None, "submission_id": uuid.uuid4(), "supersedes_id": record.pk}

    smuggled = kind.model.objects.create(**copied)

    found = {(broken.record_kind, broken.record_id) for broken in records_verify()}
    assert found == {(kind.name, smuggled.pk)}


def test_it_is_never_edited_or_deleted(officer, store, kind):
    record = kind.file(officer, store)

    setattr(record, kind.altered, "Somebody else")
    with pytest.raises(FiledRecordIsFixed):
        record.save()
    with pytest.raises(FiledRecordIsFixed):
        record.delete()


def test_sent_twice_it_is_filed_once(officer, store, kind):
    once = uuid.uuid4()
    first = kind.file(officer, store, submission_id=once)

    assert kind.file(officer, store, submission_id=once) == first
    assert kind.model.objects.count() == 1


def test_a_pack_as_known_before_it_was_filed_lacks_it(officer, store, kind):
    record = kind.file(officer, store)
    before = kind.filed_at - datetime.timedelta(seconds=1)
    scope = PackScope(day("2026-01-01"), day("2026-12-31"), before, "the officer", before, site=store)

    assert (kind.name, record.pk) not in scope.records
    assert all(link.record_kind != kind.name for links in scope.chains.values() for link in links)
