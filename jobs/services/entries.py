"""What a person types about masses, appliances and cylinders, before it becomes a row."""

import datetime
from dataclasses import dataclass
from typing import Any, Self

from compliance.rulebook.errors import InvalidInput
from compliance.rulebook.masses import parse_mass_mg, parse_pounds_ounces_mg
from jobs.errors import Refusal, SubmissionRefused
from jobs.models import MassUnit, Site, Technician
from jobs.models.ledger import mass_as_typed

ONE_DAY = datetime.timedelta(days=1)


@dataclass(frozen=True)
class EnteredMass:
    """A mass as typed, kept as evidence, beside its whole milligrams.

    Attributes:
        value: the figure as typed; pounds and ounces as ``3+4.5``.
        unit: one of ``MassUnit``.
        mass_mg: whole milligrams, rounded half up once.
    """

    value: str
    unit: str
    mass_mg: int

    @classmethod
    def parse(cls, value: str, unit: str, field: str = "mass") -> Self:
        """Read what was typed.

        Args:
            value: the figure; for ``lb+oz`` two figures joined by ``+``.
            unit: kg, g, lb, oz or lb+oz.
            field: name that a refusal carries.

        Raises:
            SubmissionRefused: not a number, negative, beyond any appliance, or an unknown unit.

        Example:
            >>> EnteredMass.parse("3+4.5", "lb+oz").mass_mg
            1488350
        """
        text = str(value).strip()
        try:
            mass_mg = _whole_milligrams(text, unit)
        except InvalidInput as problem:
            raise SubmissionRefused([Refusal(field, value, f"Expected {problem.expected}.")]) from None
        return cls(text, unit, mass_mg)

    def __str__(self) -> str:
        return mass_as_typed(self.value, self.unit)


def _whole_milligrams(text: str, unit: str) -> int:
    if unit != MassUnit.LB_OZ:
        return parse_mass_mg(text, unit)
    pounds, _, ounces = text.partition("+")
    if "+" in ounces:
        raise InvalidInput("value", text, "pounds and ounces such as 3+4.5")
    return parse_pounds_ounces_mg(pounds.strip(), ounces.strip() or "0")


@dataclass(frozen=True)
class ApplianceEntry:
    """What is typed to register an appliance; ``is_charged`` says that it already holds its full charge.

    ``full_charge_lowest`` and ``full_charge_highest`` are the ends of an established range; ``charge_inputs`` is what a
    calculated full charge was estimated from, as ``jobs.physics.charge_documents`` writes it.
    """

    name: str
    category: str
    refrigerant: str
    full_charge: EnteredMass
    full_charge_method: str
    installed_on: datetime.date
    full_charge_note: str = ""
    serial_number: str = ""
    location: str = ""
    is_residential_or_light_commercial: bool = False
    subsector_reason: str = ""
    is_hermetically_sealed: bool = False
    is_mvac_like: bool = False
    is_enclosed: bool = False
    technician: Technician | None = None
    is_charged: bool = True
    full_charge_lowest: EnteredMass | None = None
    full_charge_highest: EnteredMass | None = None
    charge_inputs: dict[str, Any] | None = None


@dataclass(frozen=True)
class CylinderEntry:
    """What is typed to register a cylinder; ``contents`` is what it held when its books began."""

    serial_number: str
    kind: str
    specification: str
    water_capacity: EnteredMass
    tare: EnteredMass
    requalified_on: datetime.date | None = None
    requalification_period_years: int = 5
    refrigerant: str = ""
    place: str = "shop"
    place_note: str = ""
    contents: EnteredMass | None = None
    contents_on: datetime.date | None = None


def local_date(site: Site, instant: datetime.datetime) -> datetime.date:
    """The calendar date at the site at an instant: the one that legal clocks count by."""
    return instant.astimezone(site.zone).date()
