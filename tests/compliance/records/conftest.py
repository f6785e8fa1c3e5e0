"""A customer who gets records by e-mail, a visit to its appliance, and the folder where messages arrive."""

import email
import email.policy
from collections.abc import Callable
from email.message import EmailMessage
from pathlib import Path

import pytest

from jobs.models import Appliance, Customer, Cylinder, ServiceEvent
from tests.factories import (
    ApplianceFactory,
    CustomerFactory,
    SiteFactory,
    charged,
    file_event,
    supply_cylinder,
)

Visit = Callable[..., ServiceEvent]


@pytest.fixture
def mailbox(mailbox: Path) -> Callable[[], list[EmailMessage]]:
    """Reads what was sent, oldest first."""
    return lambda: [
        email.message_from_bytes(path.read_bytes(), policy=email.policy.default)
        for path in sorted(mailbox.glob("*.eml"))
    ]


@pytest.fixture
def customer(db: None) -> Customer:
    return CustomerFactory(
        name="Larkspur Dairy", contact_name="Imogen Castellane", email="imogen@larkspur.example"
    )


@pytest.fixture
def chiller(customer: Customer) -> Appliance:
    """60 lb of R-410A for comfort cooling: under 40 CFR 84.106, threshold 10 % (84.106(c)(2)(iii))."""
    site = SiteFactory(customer=customer, name="Churn Street plant")
    return ApplianceFactory(site=site, name="Rooftop chiller 3", serial_number="RC3-5512")


@pytest.fixture
def supply(db: None) -> Cylinder:
    return supply_cylinder()


@pytest.fixture
def over(chiller: Appliance, supply: Cylinder) -> ServiceEvent:
    """7 lb into 60 lb: 11.67 % over the first 365 days."""
    return file_event(
        chiller,
        transfers=(charged(supply, "7 lb"),),
        work_done="Liquid line filter drier: replaced.",
        signature_name="Imogen Castellane",
    ).event
