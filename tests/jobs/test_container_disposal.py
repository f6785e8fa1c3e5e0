"""A disposable cylinder goes out of use where the law of a site that it served lets it (2024/573 Art. 8(7))."""

import pytest

from jobs.selectors.container_disposal import container_disposal_row
from tests.factories import (
    HAPPENED_ON,
    ApplianceFactory,
    CylinderFactory,
    SiteFactory,
    charged,
    file_event,
    supply_cylinder,
)
from tests.jobs.cylinder_acts import move, remove_heel
from tests.jobs.refused import refused

pytestmark = pytest.mark.django_db

ARTICLE = "Regulation (EU) 2024/573 Art. 8(7)"


def disposable(jurisdiction, refrigerant="R-410A"):
    cylinder = CylinderFactory(kind="disposable", refrigerant=refrigerant)
    move(cylinder, "site", site=SiteFactory(jurisdiction=jurisdiction))
    return cylinder


def test_a_disposable_cylinder_keeps_no_residual_gas_in_the_european_union():
    cylinder = disposable("eu")

    refusals = refused(move, cylinder, "shop", reason="retired")

    assert refusals["reason"].citation == ARTICLE
    assert "Expected a record that its heel was removed" in refusals["reason"].expected


def test_a_site_that_it_charged_counts_like_one_where_it_stood():
    cylinder = supply_cylinder("25 lb")
    cylinder.kind = "disposable"
    cylinder.save()
    appliance = ApplianceFactory(site__jurisdiction="eu")
    file_event(appliance=appliance, transfers=(charged(cylinder, "25 lb"),))

    assert container_disposal_row(cylinder, on=HAPPENED_ON).citation == ARTICLE
    assert refused(move, cylinder, "shop", reason="retired")["reason"].citation == ARTICLE


def test_it_goes_out_of_use_once_its_heel_was_removed():
    cylinder = disposable("eu")
    remove_heel(cylinder)

    assert move(cylinder, "shop", reason="retired").pk


@pytest.mark.parametrize(
    ("jurisdiction", "refrigerant"), [("us-federal", "R-410A"), ("uk", "R-410A"), ("eu", "R-290")]
)
def test_nothing_bars_it_elsewhere_or_without_a_fluorinated_gas(jurisdiction, refrigerant):
    cylinder = disposable(jurisdiction, refrigerant)

    assert container_disposal_row(cylinder, on=HAPPENED_ON) is None
    assert move(cylinder, "shop", reason="retired").pk


def test_a_refillable_cylinder_is_emptied_by_its_books_alone():
    cylinder = CylinderFactory(kind="refillable", refrigerant="R-410A")
    move(cylinder, "site", site=SiteFactory(jurisdiction="eu"))

    assert move(cylinder, "shop", reason="retired").pk
