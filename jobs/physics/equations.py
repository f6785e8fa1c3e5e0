"""The only door to CoolProp: opens a fluid's equation of state and solves it for saturation."""

import math
from dataclasses import dataclass
from typing import Any

from jobs.physics.fluids import ZERO_CELSIUS_K, Fluid

# The mixture solver fails in some bands of a few kelvin (R-407F from 48.5 to 59.5 °C). From the nearest colder point at
# which it converges it is led up in these steps, each starting from the last solution.
_STEP_K = 0.5
_MOST_STEPS = 60

# A vapour pressure rises by less than this (as a logarithm) in one step; more means that the solver left its branch.
_MOST_RISE_IN_STEP = 0.1


class NoSolution(Exception):
    """The solver found no saturated state."""


@dataclass(frozen=True)
class SaturatedState:
    """A saturated liquid (at its bubble point) or vapour (at its dew point): Pa and kg/m³."""

    pressure_pa: float
    density_kg_m3: float


def coolprop_version() -> str:
    """The version of CoolProp that is installed."""
    import CoolProp  # noqa: PLC0415

    return CoolProp.__version__


class Equation:
    """A fluid's equation of state, opened for one calculation: it is not safe to share between threads."""

    def __init__(self, fluid: Fluid) -> None:
        # CoolProp takes seconds to load; nothing else in the portal needs it.
        import CoolProp  # noqa: PLC0415

        self._coolprop: Any = CoolProp
        self._state = self._coolprop.AbstractState("HEOS", fluid.name)
        if fluid.mass_fractions:
            self._state.set_mass_fractions(list(fluid.mass_fractions))

    def saturated_liquid(self, temperature_c: float) -> SaturatedState:
        """The liquid at its bubble point. Raises NoSolution."""
        return self._saturated(temperature_c + ZERO_CELSIUS_K, 0.0)

    def saturated_vapour(self, temperature_c: float) -> SaturatedState:
        """The vapour at its dew point. Raises NoSolution."""
        return self._saturated(temperature_c + ZERO_CELSIUS_K, 1.0)

    def vapour_density_kg_m3(self, temperature_c: float, pressure_pa: float) -> float:
        """Density of the vapour at a pressure below the dew point's. Raises NoSolution."""
        return self._single_phase(temperature_c, pressure_pa, self._coolprop.iphase_gas)

    def liquid_density_kg_m3(self, temperature_c: float, pressure_pa: float) -> float:
        """Density of the liquid at a pressure above the bubble point's. Raises NoSolution."""
        return self._single_phase(temperature_c, pressure_pa, self._coolprop.iphase_liquid)

    def _single_phase(self, temperature_c: float, pressure_pa: float, phase: int) -> float:
        # Naming the phase spares the stability test, which takes a hundred times as long for a mixture.
        self._state.specify_phase(phase)
        try:
            self._state.update(self._coolprop.PT_INPUTS, pressure_pa, temperature_c + ZERO_CELSIUS_K)
        except ValueError as error:
            raise NoSolution(str(error)) from error
        finally:
            self._state.unspecify_phase()
        return self._state.rhomass()

    def _saturated(self, temperature_k: float, quality: float) -> SaturatedState:
        if not self._converges(temperature_k, quality):
            self._lead_up_to(temperature_k, quality)
        return SaturatedState(self._state.p(), self._state.rhomass())

    def _converges(self, temperature_k: float, quality: float) -> bool:
        try:
            self._state.update(self._coolprop.QT_INPUTS, quality, temperature_k)
        except ValueError:
            return False
        return math.isfinite(self._state.p()) and self._state.p() > 0

    def _lead_up_to(self, temperature_k: float, quality: float) -> None:
        for steps in range(1, _MOST_STEPS + 1):
            if self._converges(temperature_k - steps * _STEP_K, quality):
                break
        else:
            raise NoSolution(f"nothing converges within {_MOST_STEPS * _STEP_K} K below {temperature_k} K")
        for left in reversed(range(steps)):
            before_pa = self._state.p()
            try:
                self._state.update_with_guesses(
                    self._coolprop.QT_INPUTS, quality, temperature_k - left * _STEP_K, self._guess()
                )
            except ValueError as error:
                raise NoSolution(str(error)) from error
            if not 0 < math.log(self._state.p() / before_pa) < _MOST_RISE_IN_STEP:
                raise NoSolution(f"the solver left its branch at {temperature_k - left * _STEP_K} K")

    def _guess(self) -> Any:
        guess = self._coolprop.CoolProp.PyGuessesStructure()
        guess.T = self._state.T()
        guess.p = self._state.p()
        guess.rhomolar_liq = self._state.saturated_liquid_keyed_output(self._coolprop.iDmolar)
        guess.rhomolar_vap = self._state.saturated_vapor_keyed_output(self._coolprop.iDmolar)
        guess.x = self._state.mole_fractions_liquid()
        guess.y = self._state.mole_fractions_vapor()
        return guess
