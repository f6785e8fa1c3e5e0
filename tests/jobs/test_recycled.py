"""In the European Union recovered refrigerant goes into an appliance as recycled: Reg. (EU) 2024/573 Art. 8(6)."""

from dataclasses import replace

import pytest

from jobs.models import Jurisdiction, Transfer
from jobs.services.verification import records_verify
from tests.factories import (
    ApplianceFactory,
    CylinderFactory,
    SiteFactory,
    charged,
    file_event,
    recovered,
    supply_cylinder,
)
from tests.jobs.refused import refused

pytestmark = pytest.mark.django_db


@pytest.fixture
def chiller():
    return ApplianceFactory(site=SiteFactory(jurisdiction=Jurisdiction.EU, time_zone="Europe/Berlin"))


@pytest.fixture
def cylinder(chiller):
    """A cylinder that holds 20 lb recovered from the chiller itself."""
    cylinder = CylinderFactory()
    file_event(appliance=chiller, transfers=(recovered(cylinder, "20 lb"),))
    return cylinder


def test_recovered_refrigerant_is_refused_with_the_paragraph(chiller, cylinder):
    refusals = refused(file_event, appliance=chiller, transfers=(charged(cylinder, "7 lb"),))

    assert refusals.keys() == {"transfers-0-is_recycled"}
    assert "Art. 8(6)" in refusals["transfers-0-is_recycled"].citation


def test_it_goes_in_once_it_is_stated_as_recycled_and_the_record_keeps_that(chiller, cylinder):
    recycled = replace(charged(cylinder, "7 lb"), is_recycled=True)

    filing = file_event(appliance=chiller, transfers=(recycled,))

    (transfer,) = filing.event.transfers.all()
    assert transfer.canonical()["is_recycled"] is True
    assert all("is_recycled" not in row.canonical() for row in Transfer.objects.exclude(pk=transfer.pk))
    assert list(records_verify()) == []


def test_new_refrigerant_needs_no_statement(chiller):
    file_event(appliance=chiller, transfers=(charged(supply_cylinder(), "7 lb"),))


@pytest.mark.parametrize("jurisdiction", [Jurisdiction.US_FEDERAL, Jurisdiction.UK])
def test_elsewhere_the_owners_own_goes_back_in(jurisdiction):
    chiller = ApplianceFactory(site=SiteFactory(jurisdiction=jurisdiction))
    cylinder = CylinderFactory()
    file_event(appliance=chiller, transfers=(recovered(cylinder, "20 lb"),))

    file_event(appliance=chiller, transfers=(charged(cylinder, "7 lb"),))
