"""Greenhouse gas inventory by material balance: what of a refrigerant went to the air, and its CO2 equivalent."""

from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum

from compliance.rulebook.refrigerants import Refrigerant

_MG_PER_T = 1_000_000_000


class GwpBasis(StrEnum):
    """On which figures a global warming potential rests; one report uses one, and names it."""

    AR4 = "ar4"
    AR5 = "ar5"
    AR6 = "ar6"
    EU_2024_573 = "eu_2024_573"

    @property
    def in_words(self) -> str:
        return {
            GwpBasis.AR4: "IPCC AR4, 100 years (40 CFR 84.64)",
            GwpBasis.AR5: "IPCC AR5, 100 years",
            GwpBasis.AR6: "IPCC AR6, 100 years",
            GwpBasis.EU_2024_573: "Regulation (EU) 2024/573, Annexes I, II and VI",
        }[self]


@dataclass(frozen=True)
class SimplifiedBalance:
    """The five figures of the simplified material balance for one refrigerant and year, in milligrams.

    ``new_charged_mg`` is what was used to charge new units and ``new_capacity_mg`` their full charge (both left out for
    units charged in the factory, or both their full charge); ``service_charged_mg`` what recharged units in use, net of
    what the same work took out; ``retired_capacity_mg`` the full charge of units disposed of and
    ``retired_recovered_mg`` what was recovered from them.
    """

    new_charged_mg: int = 0
    new_capacity_mg: int = 0
    service_charged_mg: int = 0
    retired_capacity_mg: int = 0
    retired_recovered_mg: int = 0

    @property
    def emitted_mg(self) -> int:
        """What went to the air, in milligrams; a negative figure is a fault of the data and is shown as it is.

        ``E = (P_N - C_N) + P_S + (C_D - R_D)``

        Source: simplified material balance of US EPA's guidance on direct fugitive emissions from refrigeration and air
        conditioning, and of the IPCC 2006 guidelines, vol. 3, ch. 7.

        Example:
            >>> SimplifiedBalance(100, 50, 100, 50, 25).emitted_mg
            175
        """
        return (
            self.new_charged_mg
            - self.new_capacity_mg
            + self.service_charged_mg
            + self.retired_capacity_mg
            - self.retired_recovered_mg
        )


@dataclass(frozen=True)
class MaterialBalance:
    """The six figures of the material balance of an entity for one refrigerant and year, in milligrams.

    ``stored``: held outside equipment; ``acquired``: bought or otherwise come in; ``disbursed``: sold, sent away;
    ``capacity``: full charge of all equipment.
    """

    stored_at_begin_mg: int
    stored_at_end_mg: int
    acquired_mg: int
    disbursed_mg: int
    capacity_at_begin_mg: int
    capacity_at_end_mg: int

    @property
    def emitted_mg(self) -> int:
        """What went to the air, in milligrams.

        ``E = (I_B - I_E) + (P - S) + (C_B - C_E)``; the change of capacity counts beginning less end, since charge that
        new units hold has not gone to the air.

        Source: material balance of US EPA's guidance on direct fugitive emissions from refrigeration and air
        conditioning.

        Example:
            >>> MaterialBalance(120, 90, 200, 40, 1500, 1560).emitted_mg
            130
        """
        return (
            self.stored_at_begin_mg
            - self.stored_at_end_mg
            + self.acquired_mg
            - self.disbursed_mg
            + self.capacity_at_begin_mg
            - self.capacity_at_end_mg
        )


def gwp(refrigerant: Refrigerant, basis: GwpBasis) -> Decimal | None:
    """The refrigerant's global warming potential on a basis; ``None`` where the basis gives none."""
    return {
        GwpBasis.AR4: refrigerant.gwp_ar4,
        GwpBasis.AR5: refrigerant.gwp_ar5,
        GwpBasis.AR6: refrigerant.gwp_ar6,
        GwpBasis.EU_2024_573: refrigerant.gwp_eu_2024_573,
    }[basis]


def co2e_t(mass_mg: int, potential: Decimal) -> Decimal:
    """The mass in tonnes of CO2 equivalent.

    Source: Regulation (EU) 2024/573, Art. 3(3): tonnes times global warming potential.

    Example:
        >>> co2e_t(130_000_000, Decimal("2087.5"))
        Decimal('271.375')
    """
    return Decimal(mass_mg) * potential / _MG_PER_T
