"""Refrigerant mass balance and greenhouse gas inventory of a calendar year."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal

from compliance.rulebook.inventory import GwpBasis, MaterialBalance, co2e_t, gwp
from compliance.rulebook.refrigerants import find
from compliance.selectors.reports.document import Column, ColumnKind, ReportDocument, Row, Section, Table
from compliance.selectors.reports.equipment_balance import EquipmentBalance, equipment_balance
from compliance.selectors.reports.ledger_years import Flow, stock_flows, stock_on, transfers_known
from compliance.selectors.reports.masses import kilograms, pounds
from compliance.selectors.reports.parameters import Progress, ReportParameters
from jobs.models import HolderKind


def _mass(name: str) -> Column:
    return Column(name, ColumnKind.MASS, width=14)


#: Kinds of holder in the order of the stock table.
BEFORE: tuple[tuple[str, tuple[HolderKind, ...]], ...] = (
    ("Books begun (lb)", (HolderKind.OPENING_BALANCE,)),
    ("Bought (lb)", (HolderKind.SUPPLIER,)),
)
AFTER: tuple[tuple[str, tuple[HolderKind, ...]], ...] = (
    ("Reclaimed (lb)", (HolderKind.RECLAIMER,)),
    ("Destroyed (lb)", (HolderKind.DESTRUCTION_FACILITY,)),
    ("Sold or taken over (lb)", (HolderKind.BUYER, HolderKind.CUSTOMER, HolderKind.OTHER_CONTRACTOR)),
    ("Found by weighing (lb)", (HolderKind.STOCK_DIFFERENCE,)),
    ("To the air (lb)", (HolderKind.ATMOSPHERE,)),
)
#: All but appliances, which are within, and the air, which is what is asked for.
OUTSIDE = tuple(kind for _, kinds in (*BEFORE, *AFTER[:-1]) for kind in kinds)
STOCK_COLUMNS = (
    Column("Refrigerant", width=12),
    _mass("In stock at the beginning (lb)"),
    *(_mass(name) for name, _ in BEFORE),
    _mass("Recovered (lb)"),
    _mass("Charged (lb)"),
    *(_mass(name) for name, _ in AFTER),
    _mass("In stock at the end (lb)"),
    _mass("Out of balance (lb)"),
)
EMISSION_COLUMNS = (
    Column("Refrigerant", width=12),
    _mass("New units: charged (lb)"),
    _mass("New units: full charge (lb)"),
    _mass("In use: charged, net (lb)"),
    _mass("Retired: full charge (lb)"),
    _mass("Retired: recovered (lb)"),
    _mass("To the air (lb)"),
    _mass("To the air (kg)"),
    Column("GWP", ColumnKind.NUMBER, width=10),
    Column("CO2 equivalent (t)", ColumnKind.MASS, width=14),
)
FULL_COLUMNS = (
    Column("Refrigerant", width=12),
    _mass("Stock, begin less end (lb)"),
    _mass("Acquired (lb)"),
    _mass("Disbursed (lb)"),
    _mass("Full charges, begin less end (lb)"),
    _mass("To the air (lb)"),
    _mass("Full charges redetermined (lb)"),
    _mass("Simplified balance (lb)"),
    _mass("Unexplained (lb)"),
)

SIMPLIFIED = (
    "Simplified material balance: to the air = (charged into new units - their full charge) + charged into units in "
    "use, less what the same work took out and what was purged and destroyed, + "
    "(full charge of retired units - what was recovered from them)."
)
NEGATIVE = (
    "A negative figure can't be: a charge was recovered and not put back by the end of the period, as from a "
    "mothballed appliance, or a full charge on record was never right. It is shown as it is, and not set to zero."
)
ODS_APART = (
    "Ozone-depleting refrigerants are listed by themselves: they are outside the gases of the Kyoto Protocol and "
    "outside the totals of a scope 1 inventory."
)


@dataclass(frozen=True)
class _Emission:
    cells: Row
    mass_mg: int
    co2e_t: Decimal


def mass_balance_report(parameters: ReportParameters, progress: Progress) -> ReportDocument:
    """Make the report of a calendar year, to its end or to the day on which it is read.

    Source: material balances of US EPA's guidance on direct fugitive emissions from refrigeration and air conditioning,
    and of the IPCC 2006 guidelines, vol. 3, ch. 7.
    """
    begin, end = parameters.days
    basis = GwpBasis(parameters.options.get("gwp_basis", GwpBasis.AR4))
    equipment = equipment_balance(parameters, begin, end, progress)
    sections = [*_emission_sections(equipment, basis)]
    if _is_whole_firm(parameters):
        stock = _Stock(parameters, begin, end)
        sections = [stock.section, *sections, _full_section(equipment, stock)]
    facts = (
        *parameters.facts,
        ("Period", f"{begin} to {end}"),
        ("Global warming potentials", basis.in_words),
    )
    notes = (
        (NEGATIVE,)
        if _is_whole_firm(parameters)
        else (NEGATIVE, "Stock is the firm's: it stands in the report on all customers.")
    )
    return ReportDocument(
        title=f"Mass balance and greenhouse gas inventory {parameters.year}",
        whose=parameters.whose,
        facts=facts,
        sections=tuple(sections),
        notes=notes,
    )


def _is_whole_firm(parameters: ReportParameters) -> bool:
    return parameters.customer is None and parameters.site is None and parameters.appliance is None


class _Stock:
    """The cylinders' books over the period."""

    def __init__(self, parameters: ReportParameters, begin: date, end: date) -> None:
        transfers = transfers_known(parameters.known_at)
        self.at_begin = stock_on(transfers, begin - timedelta(days=1))
        self.at_end = stock_on(transfers, end)
        self.flows = stock_flows(transfers, begin, end)

    @property
    def refrigerants(self) -> list[str]:
        """Every refrigerant that was held or moved."""
        moved = {name for (name, _), flow in self.flows.items() if flow.came_in_mg or flow.went_out_mg}
        held = {name for stock in (self.at_begin, self.at_end) for name, mass_mg in stock.items() if mass_mg}
        return sorted(moved | held)

    def flow(self, designation: str, kind: HolderKind) -> Flow:
        """What moved between cylinders and holders of a kind."""
        return self.flows.get((designation, kind), Flow())

    def net(self, designation: str, kinds: Iterable[HolderKind]) -> int:
        """What came from holders of those kinds less what went there, in milligrams."""
        return sum(self.flow(designation, kind).net_mg for kind in kinds)

    @property
    def section(self) -> Section:
        rows = [self._row(name) for name in self.refrigerants]
        return Section(
            "The firm's stock",
            (
                (
                    "All cylinders together. What came in counts as it is, what went out with a minus; beginning plus "
                    "all movements less end is out of balance by nothing, or the books are broken."
                ),
            ),
            (Table("Stock", STOCK_COLUMNS, tuple(rows), empty="No refrigerant was held or moved."),),
        )

    def _row(self, designation: str) -> Row:
        begin_mg, end_mg = self.at_begin.get(designation, 0), self.at_end.get(designation, 0)
        appliances = self.flow(designation, HolderKind.APPLIANCE)
        moved = [
            *(self.net(designation, kinds) for _, kinds in BEFORE),
            appliances.came_in_mg,
            -appliances.went_out_mg,
            *(self.net(designation, kinds) for _, kinds in AFTER),
        ]
        return (
            designation,
            pounds(begin_mg),
            *(pounds(mass_mg) for mass_mg in moved),
            pounds(end_mg),
            pounds(begin_mg + sum(moved) - end_mg),
        )


def _emission_sections(equipment: EquipmentBalance, basis: GwpBasis) -> Iterable[Section]:
    names = [find(name) for name in equipment.refrigerants]
    for title, chosen, sentences in (
        (
            "To the air: HFCs and other substitutes",
            [name for name in names if not name.is_ozone_depleting],
            (SIMPLIFIED,),
        ),
        (
            "To the air: Ozone-depleting refrigerants",
            [name for name in names if name.is_ozone_depleting],
            (ODS_APART,),
        ),
    ):
        emissions = [_emission(equipment, refrigerant.designation, basis) for refrigerant in chosen]
        table = Table(
            title.partition(": ")[2],
            EMISSION_COLUMNS,
            tuple(emission.cells for emission in emissions),
            _total(emissions),
            "None in the equipment asked about.",
        )
        yield Section(title, sentences, (table,))


def _emission(equipment: EquipmentBalance, designation: str, basis: GwpBasis) -> _Emission:
    balance = equipment.simplified(designation)
    potential = gwp(find(designation), basis)
    equivalent = Decimal(0) if potential is None else co2e_t(balance.emitted_mg, potential)
    cells = (
        designation,
        pounds(balance.new_charged_mg),
        pounds(balance.new_capacity_mg),
        pounds(balance.service_charged_mg),
        pounds(balance.retired_capacity_mg),
        pounds(balance.retired_recovered_mg),
        pounds(balance.emitted_mg),
        kilograms(balance.emitted_mg),
        "none on this basis" if potential is None else potential,
        None if potential is None else _three_places(equivalent),
    )
    return _Emission(cells, balance.emitted_mg, equivalent)


def _total(emissions: list[_Emission]) -> Row | None:
    if not emissions:
        return None
    mass_mg = sum(emission.mass_mg for emission in emissions)
    equivalent = sum((emission.co2e_t for emission in emissions), start=Decimal(0))
    return ("Total", *(None,) * 5, pounds(mass_mg), kilograms(mass_mg), None, _three_places(equivalent))


def _full_section(equipment: EquipmentBalance, stock: _Stock) -> Section:
    names = sorted({*equipment.refrigerants, *stock.refrigerants})
    return Section(
        "Checked by the full material balance",
        (
            (
                "To the air = (stock at the beginning - stock at the end) + (acquired - disbursed) + (full charges at "
                "the beginning - full charges at the end). It differs from the simplified balance by full charges that "
                "were determined anew without refrigerant being moved, and by nothing else."
            ),
        ),
        (Table("Full balance", FULL_COLUMNS, tuple(_full_row(equipment, stock, name) for name in names)),),
    )


def _full_row(equipment: EquipmentBalance, stock: _Stock, name: str) -> Row:
    flows = [stock.flow(name, kind) for kind in OUTSIDE]
    balance = MaterialBalance(
        stored_at_begin_mg=stock.at_begin.get(name, 0),
        stored_at_end_mg=stock.at_end.get(name, 0),
        acquired_mg=sum(flow.came_in_mg for flow in flows)
        + equipment.from_outside[name]
        + equipment.factory_charged[name],
        disbursed_mg=sum(flow.went_out_mg for flow in flows) + equipment.to_outside[name],
        capacity_at_begin_mg=equipment.capacity_at_begin[name],
        capacity_at_end_mg=equipment.capacity_at_end[name],
    )
    simplified_mg = equipment.simplified(name).emitted_mg
    released_mg = -stock.flow(name, HolderKind.ATMOSPHERE).net_mg
    unexplained_mg = balance.emitted_mg - released_mg + equipment.redetermined[name] - simplified_mg
    return (
        name,
        pounds(balance.stored_at_begin_mg - balance.stored_at_end_mg),
        pounds(balance.acquired_mg),
        pounds(balance.disbursed_mg),
        pounds(balance.capacity_at_begin_mg - balance.capacity_at_end_mg),
        pounds(balance.emitted_mg),
        pounds(equipment.redetermined[name]),
        pounds(simplified_mg),
        pounds(unexplained_mg),
    )


def _three_places(value: Decimal) -> Decimal:
    return value.quantize(Decimal("0.001"))
