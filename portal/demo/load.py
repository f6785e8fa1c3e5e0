"""Loads the demo firm: registers first, then three years of visits in order of their days."""

import random
from dataclasses import dataclass
from datetime import date, datetime

from compliance.rulebook.tables import load_tables
from jobs.models import Appliance, Customer, Jurisdiction, ServiceEvent
from jobs.services.customers import customer_change
from portal.accounts.models import Role
from portal.demo.case_filings import CaseFiler
from portal.demo.cylinder_stories import CylinderStories
from portal.demo.desk import Desk
from portal.demo.filing import VisitFiler
from portal.demo.filing_stories import FILINGS, DemoFiling, annual_reports
from portal.demo.firm import Firm, read_firm
from portal.demo.logs import logged_visits
from portal.demo.method_changes import MethodChanges
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
    case_filer = CaseFiler(firm, registers.user(Role.COMPLIANCE_OFFICER), now)
    told: list[tuple[Appliance, Visit | DemoFiling]] = []
    for appliance, story in registers.appliances:
        age_days = (firm.today - appliance.installed_on).days
        told += [
            (appliance, visit)
            for visit in STORIES[story](_threshold_fraction(appliance, firm.today), source, age_days)
        ]
        told += [(appliance, filing) for filing in FILINGS.get(story, ())]
        if appliance.site.jurisdiction == Jurisdiction.US_CALIFORNIA:
            told += [(appliance, filing) for filing in annual_reports(firm.today)]
    told += logged_visits(registers.appliances, registers.cylinders)
    # What was filed about a case comes after the visits of its day.
    told.sort(key=lambda pair: (-pair[1].days_ago, isinstance(pair[1], DemoFiling), pair[0].pk))
    first_sent = next((n for n, (_, row) in enumerate(told) if row.days_ago <= RECORDS_SENT_DAYS), len(told))
    changes = MethodChanges(firm, registers.user(Role.COMPLIANCE_OFFICER), now)
    for position, (appliance, record) in enumerate(told):
        changes.file_before(record.days_ago)
        if position == first_sent:
            _send_records_from_now_on(registers)
        if isinstance(record, DemoFiling):
            case_filer.file(appliance, record)
        else:
            filer.file(appliance, record)
    changes.file_before(0)
    file_pressure_checks(registers.user(Role.TECHNICIAN), now)
    CylinderStories(firm, registers, now).tell()
    Desk(registers, now).tell()


def _send_records_from_now_on(registers: Registers) -> None:
    """Until then the firm handed records over on paper."""
    for customer in Customer.objects.exclude(email=""):
        customer_change(by=registers.user(Role.OFFICE_ADMIN), customer=customer, is_sent_records=True)


def _threshold_fraction(appliance: Appliance, today: date) -> float:
    """The leak rate threshold of the appliance's category as a fraction, from the law's table."""
    row = load_tables().row("us-federal-hfc", "leak_rate_threshold", on=today, category=appliance.category)
    return float(row.number) / 100
