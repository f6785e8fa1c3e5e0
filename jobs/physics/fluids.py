"""Which equation of state stands for which refrigerant, in what range, and what is known of its error."""

import csv
import tomllib
from dataclasses import dataclass
from enum import StrEnum
from functools import cache
from pathlib import Path
from typing import Any

from jobs.physics.errors import InvalidInput

TABLES = Path(__file__).resolve().parents[2] / "fixtures" / "physics"

# Saturation properties change so fast near the critical point that a small error of temperature is a large one of
# density (R-744: 0.1 K is more than 10 % at 30.9 °C), so nothing is answered this close to it.
NEAR_CRITICAL_K = 3.0

ZERO_CELSIUS_K = 273.15


class Model(StrEnum):
    """How the properties of a refrigerant are reckoned."""

    PURE = "pure"
    PSEUDO_PURE = "pseudo_pure"
    MIXTURE = "mixture"
    ESTIMATED = "estimated"


MODEL_WORDS = {
    Model.PURE: "Helmholtz equation of state of the pure fluid",
    Model.PSEUDO_PURE: "Helmholtz equation of state of the blend treated as one fluid (pseudo-pure)",
    Model.MIXTURE: "Helmholtz equations of state of the components, mixing parameters fitted to measurements",
    Model.ESTIMATED: "Helmholtz equations of state of the components, some mixing parameters estimated (linear rule)",
}


@dataclass(frozen=True)
class Fluid:
    """One row of ``fixtures/physics/fluids.csv``.

    Attributes:
        designation: by ASHRAE 34, such as R-410A.
        name: CoolProp's name; components joined by ``&`` where the blend is not predefined.
        mass_fractions: of those components; empty unless ``name`` joins several.
        model: how it is reckoned.
        reference: the equation of state, by the key CoolProp's bibliography gives it; empty for mixtures.
        molar_mass_g_mol: of the blend as composed.
        critical_c: critical temperature, °C.
        lowest_c: the triple point or the lower end of the equation's range, °C; of a mixture, its components' warmest.
        accuracy_key: the row of ``fixtures/physics/accuracies.toml`` that says what is known of the error.
        accuracy: those words, with their source.
    """

    designation: str
    name: str
    mass_fractions: tuple[float, ...]
    model: Model
    reference: str
    molar_mass_g_mol: float
    critical_c: float
    lowest_c: float
    accuracy_key: str
    accuracy: str

    @property
    def is_estimated(self) -> bool:
        return self.model is Model.ESTIMATED

    @property
    def highest_c(self) -> float:
        """The warmest temperature at which saturation is answered, °C."""
        return self.critical_c - NEAR_CRITICAL_K

    @property
    def model_words(self) -> str:
        """The model in words, with the equation's reference where there is one."""
        words = MODEL_WORDS[self.model]
        return f"{words} ({self.reference})" if self.reference else words

    def is_liquid_at(self, temperature_c: float) -> bool:
        """Whether the temperature is low enough below the critical one for a liquid density to be trusted."""
        return temperature_c < self.highest_c


def find(designation: Any, field: str = "refrigerant") -> Fluid:
    """Finds a refrigerant by its ASHRAE 34 designation; letters' case, blanks and the hyphen are not told apart.

    Raises:
        InvalidInput: not text, or no equation of state is on record for it.
    """
    found = _by_key().get(_key(designation)) if isinstance(designation, str) else None
    if found is None:
        raise InvalidInput(field, designation, "a refrigerant whose properties are on record, such as R-410A")
    return found


@cache
def all_fluids() -> tuple[Fluid, ...]:
    """Every refrigerant with an equation of state, in the table's order."""
    accuracies = tomllib.loads((TABLES / "accuracies.toml").read_text(encoding="utf-8"))
    with (TABLES / "fluids.csv").open(encoding="utf-8", newline="") as file:
        return tuple(_from_row(row, accuracies) for row in csv.DictReader(file))


@cache
def _by_key() -> dict[str, Fluid]:
    return {_key(fluid.designation): fluid for fluid in all_fluids()}


def _key(designation: str) -> str:
    return designation.upper().replace("-", "").replace(" ", "")


def _from_row(row: dict[str, str], accuracies: dict[str, dict[str, str]]) -> Fluid:
    accuracy = accuracies[row["accuracy"]]
    return Fluid(
        designation=row["designation"],
        name=row["fluid"],
        mass_fractions=tuple(float(part) for part in row["mass_fractions"].split("&") if part),
        model=Model(row["model"]),
        reference=row["reference"],
        molar_mass_g_mol=float(row["molar_mass_g_mol"]),
        critical_c=float(row["critical_temperature_c"]),
        lowest_c=float(row["lowest_temperature_c"]),
        accuracy_key=row["accuracy"],
        accuracy=f"{accuracy['says']} Source: {accuracy['source']}.",
    )
