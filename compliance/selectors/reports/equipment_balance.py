"""What equipment took up and gave back in a year, by refrigerant: the figures of both material balances."""

from collections import defaultdict
from dataclasses import dataclass, field
from datetime import date, timedelta

from compliance.rulebook.facts import FactKind
from compliance.rulebook.inventory import SimplifiedBalance
from compliance.selectors.facts_in_bulk import ApplianceFacts, facts_in_bulk
from compliance.selectors.reports.in_force import charge_on, refrigerant_on
from compliance.selectors.reports.parameters import Progress, ReportParameters
from jobs.models import HolderKind, Transfer, TransferReason
from jobs.selectors.events import events_standing

Masses = defaultdict[str, int]

#: Reasons that fill a unit, new or new to its refrigerant, rather than make up for what it lost.
FILLING = {TransferReason.INSTALLATION, TransferReason.RETROFIT}
#: Reasons that empty a unit for good, or of its former refrigerant.
EMPTYING = {TransferReason.DISPOSAL, TransferReason.RETROFIT}


def _masses() -> Masses:
    return defaultdict(int)


@dataclass
class EquipmentBalance:
    """Milligrams by refrigerant over a period: what filled, topped up and left equipment, and its full charges."""

    new_charged: Masses = field(default_factory=_masses)
    new_capacity: Masses = field(default_factory=_masses)
    factory_charged: Masses = field(default_factory=_masses)
    service_charged: Masses = field(default_factory=_masses)
    retired_capacity: Masses = field(default_factory=_masses)
    retired_recovered: Masses = field(default_factory=_masses)
    capacity_at_begin: Masses = field(default_factory=_masses)
    capacity_at_end: Masses = field(default_factory=_masses)
    redetermined: Masses = field(default_factory=_masses)
    from_outside: Masses = field(default_factory=_masses)
    to_outside: Masses = field(default_factory=_masses)

    @property
    def refrigerants(self) -> list[str]:
        """Every refrigerant that any figure is about."""
        named = (
            self.new_charged,
            self.service_charged,
            self.retired_recovered,
            self.capacity_at_begin,
            self.capacity_at_end,
        )
        return sorted({name for masses in named for name, mass_mg in masses.items() if mass_mg})

    def simplified(self, designation: str) -> SimplifiedBalance:
        """The figures of the simplified material balance."""
        return SimplifiedBalance(
            new_charged_mg=self.new_charged[designation],
            new_capacity_mg=self.new_capacity[designation],
            service_charged_mg=self.service_charged[designation],
            retired_capacity_mg=self.retired_capacity[designation],
            retired_recovered_mg=self.retired_recovered[designation],
        )


def equipment_balance(
    parameters: ReportParameters, begin: date, end: date, progress: Progress
) -> EquipmentBalance:
    """Add up a period, both days in it, over the appliances that are asked about."""
    balance = EquipmentBalance()
    filled = _transfers(balance, parameters, begin, end)
    appliances = parameters.appliances().filter(installed_on__lte=end)
    total = appliances.count()
    for done, one in enumerate(facts_in_bulk(appliances, parameters.known_at)):
        progress(done, total)
        _capacities(balance, one, begin, end, is_filled_here=one.appliance.pk in filled)
    return balance


def _transfers(balance: EquipmentBalance, parameters: ReportParameters, begin: date, end: date) -> set[int]:
    """Count what went in and out; returns the appliances that were filled as they were installed."""
    events = events_standing(parameters.known_at).filter(
        happened_on__gte=begin,
        happened_on__lte=end,
        appliance__in=parameters.appliances().order_by().values("pk"),
    )
    moved = Transfer.objects.filter(event__in=events, reverses=None).order_by()
    filled = set()
    for appliance_id, to_id, other_to, other_from, name, reason, mass_mg in moved.values_list(
        "event__appliance_id",
        "to_holder__appliance_id",
        "to_holder__kind",
        "from_holder__kind",
        "refrigerant",
        "reason",
        "mass_mg",
    ):
        if to_id == appliance_id:
            masses = balance.new_charged if reason in FILLING else balance.service_charged
            masses[name] += mass_mg
            if reason == TransferReason.INSTALLATION:
                filled.add(appliance_id)
            if other_from != HolderKind.CYLINDER:
                balance.from_outside[name] += mass_mg
        elif other_to != HolderKind.ATMOSPHERE:
            if reason in EMPTYING:
                balance.retired_recovered[name] += mass_mg
            else:
                balance.service_charged[name] -= mass_mg
            if other_to != HolderKind.CYLINDER:
                balance.to_outside[name] += mass_mg
    return filled


def _capacities(
    balance: EquipmentBalance, one: ApplianceFacts, begin: date, end: date, *, is_filled_here: bool
) -> None:
    """Count an appliance's full charge at both ends, and why it changed between them."""
    described, facts = one.described, [fact for fact in one.facts if fact.on <= end]
    retired_on = min((fact.on for fact in facts if fact.kind == FactKind.RETIRED), default=None)
    if retired_on is not None and retired_on < begin:
        return
    installed_on = one.registered.installed_on
    before = max(begin - timedelta(days=1), installed_on)
    name, charge_mg = (
        refrigerant_on(described, facts, before).designation,
        charge_on(described, facts, before),
    )
    if installed_on < begin:
        balance.capacity_at_begin[name] += charge_mg
    else:
        balance.new_capacity[name] += charge_mg
        if not is_filled_here:
            # It came charged: what it held was bought with it.
            balance.new_charged[name] += charge_mg
            balance.factory_charged[name] += charge_mg
    for fact in facts:
        if fact.on <= before or fact.on < begin:
            continue
        if fact.purged_and_destroyed_mg:
            # It left the equipment, and went to no air.
            balance.service_charged[name] -= fact.purged_and_destroyed_mg
            balance.to_outside[name] += fact.purged_and_destroyed_mg
        new_charge_mg = fact.full_charge_mg if fact.full_charge_mg is not None else charge_mg
        if fact.kind == FactKind.RETROFITTED and fact.refrigerant is not None:
            balance.retired_capacity[name] += charge_mg
            name = fact.refrigerant.designation
            balance.new_capacity[name] += new_charge_mg
        else:
            balance.redetermined[name] += new_charge_mg - charge_mg
        charge_mg = new_charge_mg
    if retired_on is not None:
        balance.retired_capacity[name] += charge_mg
    else:
        balance.capacity_at_end[name] += charge_mg
