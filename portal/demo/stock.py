"""The demo's storekeeper: buys, hands out and takes back refrigerant, cylinder by cylinder.

It only decides; every movement goes through the services that the pages use.
"""

from collections.abc import Iterator
from datetime import UTC, date, datetime, time, timedelta
from decimal import Decimal

from jobs.models import Customer, Cylinder, CylinderKind
from jobs.physics.fill_limits import max_net_mg
from jobs.services.entries import EnteredMass
from jobs.services.stock import purchase_record, shipment_record
from portal.accounts.models import User

SUPPLIER = "Ashgrove Refrigerant Supply"
RECLAIMER = "Three Rivers Reclaim"

#: A purchase fills a cylinder to this share of its limit.
PURCHASE_FILL = Decimal("0.97")
#: A recovery cylinder fuller than this share of its limit goes to the reclaimer.
SHIP_WHEN_FULLER_THAN = Decimal("0.6")

MG_PER_TENTH_POUND = Decimal("45359.237")


def tenths_of_pounds(mass_mg: int | Decimal) -> EnteredMass:
    """The mass as a scale with 0.1 lb divisions shows it, rounded down, at least one division."""
    tenths = max(int(Decimal(mass_mg) / MG_PER_TENTH_POUND), 1)
    return EnteredMass.parse(str(Decimal(tenths) / 10), "lb", "mass")


class Storekeeper:
    """Keeps the demo's cylinders and their contents in step with what it files."""

    def __init__(self, by: User, cylinders: list[Cylinder]) -> None:
        self._by = by
        self._supply = [c for c in cylinders if c.kind == CylinderKind.REFILLABLE]
        self._recovery = [c for c in cylinders if c.kind == CylinderKind.RECOVERY]
        self._contents_mg: dict[int, int] = {c.pk: 0 for c in cylinders}
        self._contents_of: dict[int, tuple[str, int]] = {}
        self._orders = 0

    def take(self, refrigerant: str, mass: EnteredMass, on: date) -> Iterator[tuple[Cylinder, EnteredMass]]:
        """Yield supply cylinders and the masses to draw from each, buying first when stock is short."""
        mine = [c for c in self._supply if c.refrigerant == refrigerant]
        if sum(self._contents_mg[c.pk] for c in mine) < mass.mass_mg:
            for cylinder in mine:
                self._buy(cylinder, refrigerant, on - timedelta(days=1))
        left_mg = mass.mass_mg
        for cylinder in sorted(mine, key=lambda c: -self._contents_mg[c.pk]):
            held_mg = self._contents_mg[cylinder.pk]
            if left_mg <= 0 or held_mg <= 0:
                continue
            part = mass if held_mg >= left_mg == mass.mass_mg else tenths_of_pounds(min(held_mg, left_mg))
            self._contents_mg[cylinder.pk] -= part.mass_mg
            left_mg -= part.mass_mg
            # A rest below one scale division stays undelivered, as it would on the job.
            if left_mg < MG_PER_TENTH_POUND:
                left_mg = 0
            yield cylinder, part
        if left_mg > 0:
            message = f"the demo's cylinders can't deliver {mass.value} {mass.unit} of {refrigerant}"
            raise LookupError(message)

    def recover(
        self, refrigerant: str, mass: EnteredMass, customer: Customer, on: date
    ) -> Iterator[tuple[Cylinder, EnteredMass]]:
        """Yield recovery cylinders and the masses to put into each, one owner's refrigerant a cylinder."""
        for cylinder in self._recovery:
            room_mg = self._room_mg(cylinder, refrigerant, customer)
            if room_mg >= mass.mass_mg and self._may_be_filled(cylinder, on):
                self._contents_mg[cylinder.pk] += mass.mass_mg
                self._contents_of[cylinder.pk] = (refrigerant, customer.pk)
                yield cylinder, mass
                return
        message = f"no demo recovery cylinder has room for {mass.value} {mass.unit} of {refrigerant}"
        raise LookupError(message)

    def give_back(
        self, refrigerant: str, mass: EnteredMass, customer: Customer
    ) -> Iterator[tuple[Cylinder, EnteredMass]]:
        """Yield the recovery cylinder that holds the same owner's refrigerant (40 CFR 82.156(h))."""
        for cylinder in self._recovery:
            is_theirs = self._contents_of.get(cylinder.pk) == (refrigerant, customer.pk)
            if is_theirs and self._contents_mg[cylinder.pk] >= mass.mass_mg:
                self._contents_mg[cylinder.pk] -= mass.mass_mg
                yield cylinder, mass
                return
        message = f"no demo cylinder holds {mass.value} {mass.unit} of {customer}'s {refrigerant}"
        raise LookupError(message)

    def ship_full_cylinders(self, on: date, filed_at: datetime) -> None:
        """Send recovery cylinders that are fairly full to the reclaimer."""
        for cylinder in self._recovery:
            refrigerant, _customer = self._contents_of.get(cylinder.pk, ("", 0))
            if not refrigerant:
                continue
            limit_mg = max_net_mg(refrigerant, cylinder.water_capacity_mg).max_net_mg
            if self._contents_mg[cylinder.pk] > limit_mg * SHIP_WHEN_FULLER_THAN:
                self._orders += 1
                shipment_record(
                    by=self._by,
                    cylinder=cylinder,
                    destination_kind="reclaimer",
                    destination_name=RECLAIMER,
                    mass=None,
                    happened_on=on,
                    document_number=f"SHIP-{self._orders:04d}",
                    filed_at=filed_at,
                )
                self._contents_mg[cylinder.pk] = 0
                del self._contents_of[cylinder.pk]

    def _buy(self, cylinder: Cylinder, refrigerant: str, on: date) -> None:
        limit_mg = max_net_mg(refrigerant, cylinder.water_capacity_mg).max_net_mg
        mass = tenths_of_pounds(limit_mg * PURCHASE_FILL - self._contents_mg[cylinder.pk])
        self._orders += 1
        purchase_record(
            by=self._by,
            cylinder=cylinder,
            supplier_name=SUPPLIER,
            refrigerant=refrigerant,
            mass=mass,
            happened_on=on,
            document_number=f"INV-{self._orders:04d}",
            filed_at=datetime.combine(on, time(18), tzinfo=UTC),
        )
        self._contents_mg[cylinder.pk] += mass.mass_mg

    def _room_mg(self, cylinder: Cylinder, refrigerant: str, customer: Customer) -> int:
        if cylinder.refrigerant not in ("", refrigerant):
            return 0
        if self._contents_of.get(cylinder.pk, (refrigerant, customer.pk)) != (refrigerant, customer.pk):
            return 0
        limit_mg = max_net_mg(refrigerant, cylinder.water_capacity_mg).max_net_mg
        return limit_mg - self._contents_mg[cylinder.pk]

    @staticmethod
    def _may_be_filled(cylinder: Cylinder, on: date) -> bool:
        made_on = cylinder.requalified_on
        return made_on is not None and (on - made_on).days < 365 * cylinder.requalification_period_years
