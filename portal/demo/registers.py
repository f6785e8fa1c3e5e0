"""Registers the demo firm's people, customers, sites, appliances and cylinders."""

import random
from dataclasses import dataclass, field
from datetime import date, datetime, time, timedelta
from typing import Any

from django.contrib.auth.models import Group

from jobs.models import (
    Appliance,
    ApplianceCategory,
    Cylinder,
    CylinderKind,
    CylinderPlace,
    FullChargeMethod,
    Jurisdiction,
    Site,
    Technician,
)
from jobs.services.appliances import ApplianceEntry, appliance_register
from jobs.services.customers import customer_register, site_register
from jobs.services.cylinders import CylinderEntry, cylinder_register
from jobs.services.entries import EnteredMass
from jobs.services.technicians import certification_record, technician_register
from portal.accounts.models import Role, User
from portal.demo.firm import Firm
from portal.demo.instruments import Kit, register_kits

#: Cylinders of this water capacity and more don't travel in a van.
LARGE_FROM_LB = 130


@dataclass
class Registers:
    """What was registered, as the story-teller needs it."""

    users: dict[str, User] = field(default_factory=dict)
    technicians: dict[str, Technician] = field(default_factory=dict)
    appliances: list[tuple[Appliance, str]] = field(default_factory=list)
    cylinders: list[Cylinder] = field(default_factory=list)
    kits: dict[str, Kit] = field(default_factory=dict)

    def user(self, role: Role) -> User:
        """The first user with ``role``."""
        return self.users[role.value]


def register_all(firm: Firm, source: random.Random, now: datetime) -> Registers:
    """Register everything and everybody; returns what the stories need."""
    registers = Registers()
    accounts = _register_users(firm, registers)
    office_admin = registers.user(Role.OFFICE_ADMIN)
    _register_technicians(firm, registers, accounts, now)
    registers.kits = register_kits(firm, by=office_admin, now=now)
    for customer_data in firm.data["customers"]:
        sites = customer_data["sites"]
        customer = customer_register(
            by=office_admin,
            is_sent_records=False,
            reminders_agreed_on=firm.books_began_on if customer_data.get("is_reminded") else None,
            **{key: value for key, value in customer_data.items() if key != "sites"},
        )
        for site_data in sites:
            site = site_register(
                by=office_admin,
                customer=customer,
                name=site_data["name"],
                street=site_data["street"],
                city=site_data["city"],
                region=site_data["region"],
                postal_code=site_data["postal_code"],
                country=site_data.get("country", "US"),
                time_zone=site_data["time_zone"],
                jurisdiction=site_data.get("jurisdiction", Jurisdiction.US_FEDERAL),
                leak_rate_method=site_data["method"],
                altitude_m=site_data.get("altitude_m"),
            )
            for appliance_data in site_data["appliances"]:
                _register_appliance(firm, registers, site, appliance_data, source)
    _register_cylinders(firm, registers, source, now)
    return registers


def _register_users(firm: Firm, registers: Registers) -> dict[str, User]:
    accounts: dict[str, User] = {}
    for data in firm.data["users"]:
        user = User.objects.create_user(data["email"], firm.password, full_name=data["full_name"])
        user.groups.add(Group.objects.get(name=data["role"]))
        registers.users.setdefault(data["role"], user)
        accounts[data["full_name"]] = user
    return accounts


def _register_technicians(firm: Firm, registers: Registers, accounts: dict[str, User], now: datetime) -> None:
    office_admin = registers.user(Role.OFFICE_ADMIN)
    for data in firm.data["technicians"]:
        registered_days_ago = data.get("apprentice_registered_days_ago")
        technician = technician_register(
            by=office_admin,
            full_name=data["full_name"],
            phone=data["phone"],
            user=accounts.get(data["full_name"]),
            is_apprentice=data.get("is_apprentice", False),
            apprentice_registered_on=(
                firm.today - timedelta(days=registered_days_ago) if registered_days_ago else None
            ),
            recorded_at=now,
        )
        for kind, number, issuer, issued_on, *expires_in_days in data["certifications"]:
            certification_record(
                by=office_admin,
                technician=technician,
                type=kind,
                number=number,
                issuer=issuer,
                issued_on=date.fromisoformat(issued_on),
                expires_on=firm.today + timedelta(days=expires_in_days[0]) if expires_in_days else None,
                recorded_at=now,
            )
        registers.technicians[technician.full_name] = technician


def _responsible_technician(data: dict[str, Any], registers: Registers, source: random.Random) -> Technician:
    if data.get("hermetic"):
        return registers.technicians["Halle Sorensen-Adeyemi"]
    if data["refrigerant"] == "R-123":
        return registers.technicians["Emeric Vance"]
    names = ("Tobias Oduya", "Tobias Oduya", "Ingrid Falkenrath", "Cassius Bright", "Rosalind Pike")
    if data["category"] == ApplianceCategory.COMMERCIAL_REFRIGERATION:
        names = ("Tobias Oduya", "Wilhelmina Achterberg", "Desmond Okonjo", "Ingrid Falkenrath")
    return registers.technicians[source.choice(names)]


def _register_appliance(
    firm: Firm, registers: Registers, site: Site, data: dict[str, Any], source: random.Random
) -> None:
    value, unit = data["charge"].split(" ")
    is_installed_by_us = data["story"] == "installed"
    methods = (FullChargeMethod.MANUFACTURER, FullChargeMethod.MANUFACTURER, FullChargeMethod.CALCULATION)
    installed_on = firm.installed_on(data)
    is_excluded = data.get("residential_or_light_commercial", False)
    appliance = appliance_register(
        by=registers.user(Role.OFFICE_ADMIN),
        site=site,
        entry=ApplianceEntry(
            name=data["name"],
            serial_number=f"{source.choice('BDFHKMPRT')}{source.randrange(10_000, 99_999)}-{installed_on:%y}",
            location=data["location"],
            category=data["category"],
            refrigerant=data["refrigerant"],
            full_charge=EnteredMass.parse(value, unit, "full_charge"),
            full_charge_method=source.choice(methods),
            full_charge_note="",
            installed_on=installed_on,
            is_residential_or_light_commercial=is_excluded,
            subsector_reason="Unitary equipment used for light commercial air conditioning."
            if is_excluded
            else "",
            is_hermetically_sealed=data.get("hermetic", False),
            is_enclosed=data.get("enclosed", False),
            technician=_responsible_technician(data, registers, source),
            is_charged=not is_installed_by_us,
        ),
        filed_at=datetime.combine(
            installed_on if is_installed_by_us else firm.books_began_on, time(9), tzinfo=site.zone
        ),
    )
    registers.appliances.append((appliance, data["story"]))


def _register_cylinders(firm: Firm, registers: Registers, source: random.Random, now: datetime) -> None:
    serial = 4100
    kinds = ((CylinderKind.REFILLABLE, "supply"), (CylinderKind.RECOVERY, "recovery"))
    vans = ("Van 1, Oduya", "Van 2, Falkenrath", "Van 3, Bright")
    for kind, name in kinds:
        for refrigerant, specification, water_capacity_lb, tare_lb, count in firm.data["cylinders"][name]:
            for _ in range(count):
                serial += source.randrange(3, 19)
                is_small = water_capacity_lb < LARGE_FROM_LB
                place = (
                    source.choice((CylinderPlace.SHOP, CylinderPlace.VAN)) if is_small else CylinderPlace.SHOP
                )
                registers.cylinders.append(
                    cylinder_register(
                        by=registers.user(Role.OFFICE_ADMIN),
                        entry=CylinderEntry(
                            serial_number=f"FO-{serial}",
                            kind=kind,
                            specification=specification,
                            water_capacity=EnteredMass.parse(str(water_capacity_lb), "lb", "water_capacity"),
                            tare=EnteredMass.parse(str(tare_lb), "lb", "tare"),
                            requalified_on=firm.books_began_on - timedelta(days=source.randrange(5, 600)),
                            requalification_period_years=5,
                            refrigerant=refrigerant,
                            place=place,
                            place_note=source.choice(vans) if place == CylinderPlace.VAN else "",
                            contents=None,
                            contents_on=None,
                        ),
                        filed_at=now,
                    )
                )
