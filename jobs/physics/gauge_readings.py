"""An absolute pressure as a gauge shows it where it is read."""

from dataclasses import dataclass

from jobs.physics.pressures import STANDARD_ATMOSPHERE_PA, gauge_inhg_vacuum, gauge_psi


@dataclass(frozen=True)
class GaugeReading:
    """An absolute pressure, Pa, as a gauge shows it in the atmosphere around it, Pa absolute."""

    pressure_pa: float
    atmosphere_pa: float = STANDARD_ATMOSPHERE_PA

    @property
    def is_vacuum(self) -> bool:
        """Whether it lies below the atmosphere, where a gauge shows inches of mercury."""
        return self.pressure_pa < self.atmosphere_pa

    @property
    def psig(self) -> float:
        """In psi over the atmosphere; below zero in a vacuum."""
        return gauge_psi(self.pressure_pa, self.atmosphere_pa)

    @property
    def inhg_vacuum(self) -> float:
        """In inches of mercury below the atmosphere."""
        return gauge_inhg_vacuum(self.pressure_pa, self.atmosphere_pa)

    @property
    def kpa(self) -> float:
        """In kilopascals, absolute."""
        return self.pressure_pa / 1000

    def __str__(self) -> str:
        return f"{self.inhg_vacuum:.1f} inHg vacuum" if self.is_vacuum else f"{self.psig:.1f} psig"
