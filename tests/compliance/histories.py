"""Half a year of one appliance, drawn at random: visits, late filings, amendments and voids."""

import random

from jobs.errors import SubmissionRefused
from jobs.models import LeakFinding
from jobs.selectors.events import OF_STANDING_EVENT
from jobs.services.events import service_event_void
from tests.compliance.firm import (
    FOLLOW_UP,
    INITIAL,
    add_appliance,
    add_customer,
    add_site,
    amend,
    day,
    file,
    noon,
)


def _random_visit(source, appliance):
    """Rows of a visit that may or may not make sense; a refusal is as good as not going there."""
    leaks = list(appliance.leaks.filter(findings__in=LeakFinding.objects.filter(OF_STANDING_EVENT)))
    known = [source.choice(leaks)] if leaks else []
    rows = {}
    if source.random() < 0.6:
        rows["added"] = [(str(source.randint(1, 14)), source.choice([None, *known]))]
    if source.random() < 0.2:
        rows["removed"] = [(str(source.randint(1, 5)), None)]
    if source.random() < 0.5:
        rows["found"] = ["A", "B"][: source.randint(1, 2)]
    if known and source.random() < 0.6:
        rows["repaired"] = known
        rows["evacuated"] = source.random() < 0.3
    for key in ("passed", "failed"):
        if known and source.random() < 0.3:
            rows[key] = [(source.choice([INITIAL, FOLLOW_UP]), known[0])]
    if source.random() < 0.2:
        rows["stated"] = [
            (source.choice(["normal_operation", "mothballed", "retrofit_or_retirement_plan"]), {})
        ]
    return rows


def live(source, admin, appliance):
    """Half a year of visits, late filings, amendments and voids."""
    standing = []
    for _ in range(12):
        on = f"2026-{source.randint(1, 6):02d}-{source.randint(1, 28):02d}"
        filed_at = noon(day("2026-07-01"))
        try:
            if standing and source.random() < 0.25:
                event = source.choice(standing)
                if source.random() < 0.3:
                    service_event_void(by=admin, event=event, reason="Mistaken", filed_at=filed_at)
                else:
                    rows = _random_visit(source, appliance)
                    standing.append(amend(admin, event, on, filed_at=filed_at, **rows))
                standing.remove(event)
            else:
                rows = _random_visit(source, appliance)
                standing.append(file(admin, appliance, on, filed_at=filed_at, **rows))
        except SubmissionRefused:
            continue
    return standing


def lively_firm(admin, seed):
    """Appliances under every law, each with half a year of visits, late filings, amendments and voids."""
    source = random.Random(seed)
    customer = add_customer(admin)
    appliances = []
    for number, law in enumerate(("us-federal", "us-california", "eu", "uk", "us-federal")):
        method = ("annualizing", "rolling_average")[number % 2]
        site = add_site(admin, customer, f"Store {number}", jurisdiction=law, leak_rate_method=method)
        refrigerant = source.choice(["R-22", "R-404A", "R-410A"])
        appliance = add_appliance(
            admin, f"Rack {number}", site=site, refrigerant=refrigerant, category="commercial_refrigeration"
        )
        live(source, admin, appliance)
        appliances.append(appliance)
    return appliances
