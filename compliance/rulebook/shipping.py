"""How a shipping paper describes refrigerant (49 CFR part 172), as far as the tables know; the shipper decides."""

from dataclasses import dataclass
from datetime import date

from compliance.rulebook.refrigerants import Refrigerant
from compliance.rulebook.tables import Row, Tables, load_tables

RULE_TRANSPORT = "us-transport"
GENERIC = "n.o.s."
FLAMMABLE_GAS, NON_FLAMMABLE_GAS = "2.1", "2.2"
_TECHNICAL_NAMES = 2


@dataclass(frozen=True)
class ShippingDescription:
    """The basic description of a material, in the sequence of 49 CFR 172.202(b); gases have no packing group.

    ``technical_names`` stand beside a generic name (172.203(k)); ``row`` is where it was found.
    """

    identification_number: str
    proper_shipping_name: str
    hazard_class: str
    technical_names: tuple[str, ...]
    row: Row

    @property
    def in_words(self) -> str:
        """The line as it is written on the paper, nothing put in between."""
        names = f" ({', '.join(self.technical_names)})" if self.technical_names else ""
        return f"{self.identification_number}, {self.proper_shipping_name}{names}, {self.hazard_class}"

    @property
    def is_flammable(self) -> bool:
        """Whether it is a gas of division 2.1."""
        return self.hazard_class == FLAMMABLE_GAS


def shipping_description(
    refrigerant: Refrigerant, *, on: date, tables: Tables | None = None
) -> ShippingDescription | None:
    """Finds how a pure refrigerant or an unmixed blend is described; nothing where the tables have no entry for it.

    Args:
        refrigerant: what is shipped.
        on: the day on which it is offered for transportation.
        tables: the law's rows; those of fixtures/rules by default.

    Returns:
        The description, or ``None``: the shipper then describes it. A generic name goes along with the technical names
        of the two parts of most mass; without both there is no description either.

    Source: 49 CFR 172.101 (table), 172.202(b), 172.203(k); rows of fixtures/rules/us_shipping.toml, from memory.

    Example:
        >>> from compliance.rulebook.refrigerants import find
        >>> shipping_description(find("R-454B"), on=date(2026, 11, 27)).in_words
        'UN3161, Liquefied gas, flammable, n.o.s. (Difluoromethane, 2,3,3,3-Tetrafluoropropene), 2.1'
    """
    tables = tables or load_tables()
    row = tables.find(RULE_TRANSPORT, "shipping_description", on=on, category=refrigerant.designation)
    if row is None:
        return None
    number, _, rest = row.value.partition(", ")
    name, _, hazard_class = rest.rpartition(", ")
    technical = _technical_names(refrigerant, on, tables) if name.endswith(GENERIC) else ()
    return None if technical is None else ShippingDescription(number, name, hazard_class, technical, row)


def _technical_names(refrigerant: Refrigerant, on: date, tables: Tables) -> tuple[str, ...] | None:
    most = sorted(refrigerant.composition, key=lambda part: part[1], reverse=True)[:_TECHNICAL_NAMES]
    rows = [tables.find(RULE_TRANSPORT, "technical_name", on=on, category=component) for component, _ in most]
    return tuple(row.value for row in rows if row) if all(rows) else None
