"""Sites outside federal law alone: California's rules beside it, European and British ones in its place."""

import pytest
from django.urls import reverse

from compliance.models import Obligation
from tests.compliance.firm import add_appliance, add_customer, add_site, file

ELSEWHERE = {
    "us-california": {"region": "CA", "time_zone": "America/Los_Angeles"},
    "eu": {"country": "DE", "time_zone": "Europe/Berlin"},
    "uk": {"country": "GB", "time_zone": "Europe/London"},
}


def found_leak_at(admin, jurisdiction, charge_lb="300"):
    """A commercial refrigeration appliance with R-404A, on which a visit of 2026-03-02 found a leak."""
    site = add_site(
        admin, add_customer(admin), "Far store", jurisdiction=jurisdiction, **ELSEWHERE[jurisdiction]
    )
    rack = add_appliance(
        admin,
        "Rack A",
        site=site,
        charge_lb=charge_lb,
        refrigerant="R-404A",
        category="commercial_refrigeration",
    )
    file(admin, rack, "2026-03-02", found=["flare"])
    return rack


def owed(appliance, kind):
    rows = Obligation.objects.filter(appliance=appliance, kind=kind).order_by("opened_on")
    return [(row.rule, str(row.due_on) if row.due_on else None, row.status) for row in rows]


def test_california_asks_for_repair_of_any_leak_and_inspection_by_size(admin):
    """17 CCR 95386(a): 14 days; 95385(b): every 3 months from 200 lb to below 2 000 lb."""
    rack = found_leak_at(admin, "us-california")

    assert owed(rack, "repair") == [("us-california", "2026-03-16", "open")]
    assert owed(rack, "leak_inspection")[-1] == ("us-california", "2026-06-02", "open")


def test_california_is_beside_the_federal_rule(admin):
    rack = found_leak_at(admin, "us-california")

    file(admin, rack, "2026-03-03", added=[("70", None)])

    assert sorted(owed(rack, "repair")) == [
        ("us-california", "2026-03-16", "open"),
        ("us-federal-hfc", "2026-04-02", "open"),
    ]


@pytest.mark.parametrize("rule", ["eu", "uk"])
def test_europe_and_great_britain_ask_for_leak_checks_by_carbon_dioxide_equivalent(admin, rule):
    """300 lb of R-404A come to 533.6 t: every 3 months ((EU) 2024/573 Art. 5(6)(c), 517/2014 Art. 4(3)(c))."""
    rack = found_leak_at(admin, rule)

    assert owed(rack, "leak_check")[-1] == (rule, "2026-06-02", "open")
    assert owed(rack, "repair") == [(rule, None, "open")]


@pytest.mark.parametrize(
    ("jurisdiction", "name"),
    [
        ("us-california", "California rules"),
        ("eu", "European Union rules"),
        ("uk", "Great Britain rules"),
    ],
)
def test_pages_name_the_rules(client, officer, admin, jurisdiction, name):
    rack = found_leak_at(admin, jurisdiction)
    client.force_login(officer)

    repair = Obligation.objects.get(appliance=rack, kind="repair")

    assert name in client.get(reverse("appliance-detail", args=[rack.pk])).text
    assert name in client.get(reverse("obligation-detail", args=[repair.pk])).text
    assert rack.name in client.get(reverse("board"), {"rule": jurisdiction}).text
