"""Loads the demo firm: registers first, then three years of visits in order of their days."""

import random
from dataclasses import dataclass
from datetime import date, datetime

from compliance.rulebook.tables import load_tables
from jobs.models import Appliance, Customer, ServiceEvent
from jobs.services.customers import customer_change
from portal.accounts.models import Role
from portal.demo.cylinder_stories import CylinderStories
from portal.demo.filing import VisitFiler
from portal.demo.firm import Firm, read_firm
from portal.demo.logs import logged_visits
from portal.demo.pressure_checks import file_pressure_checks
from portal.demo.registers import Registers, register_all
from portal.demo.stories import STORIES
from portal.demo.visits import Visit

#: The same seed and the same day give the same firm.
SEED = 608

#: The firm has sent records by e-mail for so many days; more would only keep the worker printing.
RECORDS_SENT_DAYS = 14


@dataclass(frozen=True)
class Summary:
    """What was loaded, or was there before."""

    was_loaded_before: bool
    customers: int
    appliances: int
    service_events: int


def load_demo_firm(*, today: date, now: datetime) -> Summary:
    """Load the demo firm relative to ``today``; a firm that is there already is left alone."""
    firm = read_firm(today)
    was_loaded_before = Customer.objects.filter(name=firm.data["customers"][0]["name"]).exists()
    if not was_loaded_before:
        _load(firm, now)
    return Summary(
        was_loaded_before=was_loaded_before,
        customers=Customer.objects.count(),
        appliances=Appliance.objects.count(),
        service_events=ServiceEvent.objects.count(),
    )


def _load(firm: Firm, now: datetime) -> None:
    source = random.Random(SEED)  # noqa: S311 -- a repeatable story, not a secret
    registers = register_all(firm, source, now)
    filer = VisitFiler(firm, registers, now, source)
    visits: list[tuple[Appliance, Visit]] = []
    for appliance, story in registers.appliances:
        age_days = (firm.today - appliance.installed_on).days
        visits += [
            (appliance, visit)
            for visit in STORIES[story](_threshold_fraction(appliance, firm.today), source, age_days)
        ]
    visits += logged_visits(registers.appliances, registers.cylinders)
    visits.sort(key=lambda pair: (-pair[1].days_ago, pair[0].pk))
    former = [pair for pair in visits if pair[1].days_ago > RECORDS_SENT_DAYS]
    for appliance, visit in former:
        filer.file(appliance, visit)
    _send_records_from_now_on(registers)
    for appliance, visit in visits[len(former) :]:
        filer.file(appliance, visit)
    file_pressure_checks(registers.user(Role.TECHNICIAN), now)
    CylinderStories(firm, registers, now).tell()


def _send_records_from_now_on(registers: Registers) -> None:
    """Until then the firm handed records over on paper."""
    for customer in Customer.objects.exclude(email=""):
        customer_change(by=registers.user(Role.OFFICE_ADMIN), customer=customer, is_sent_records=True)


def _threshold_fraction(appliance: Appliance, today: date) -> float:
    """The leak rate threshold of the appliance's category as a fraction, from the law's table."""
    row = load_tables().row("us-federal-hfc", "leak_rate_threshold", on=today, category=appliance.category)
    return float(row.number) / 100
