"""``manage.py saturation``: boiling and condensing pressure at a temperature, or the other way round, as JSON."""

from argparse import ArgumentParser
from collections.abc import Mapping
from typing import Any

from compliance.rulebook import refrigerants
from jobs.management.json_command import JsonCommand
from jobs.physics.errors import InvalidInput
from jobs.physics.pressures import STANDARD_ATMOSPHERE_PA, gauge_psi, standard_atmosphere_pa
from jobs.physics.quantities import parse_altitude_m, parse_pressure_pa, parse_temperature_c
from jobs.physics.saturation import (
    Saturation,
    SaturationPoint,
    saturation_at_pressure,
    saturation_at_temperature,
)


class Command(JsonCommand):
    help = "Gives a refrigerant's bubble and dew point at a temperature or at a pressure (JSON)."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--refrigerant", help="by ASHRAE 34 designation, such as R-410A")
        parser.add_argument("--temperature", help='such as "70 F", "21 C" or "294 K"')
        parser.add_argument(
            "--pressure", help='such as "201 psig"; also psia, inHg_vac, kPa, bar, kPag, barg'
        )
        parser.add_argument(
            "--altitude", help='of the gauge, for gauge pressures: "5000 ft" or "1500 m"; sea level if left'
        )

    def answer(self, options: Mapping[str, Any]) -> Mapping[str, Any]:
        designation = refrigerants.find(options["refrigerant"]).designation
        if (options["temperature"] is None) == (options["pressure"] is None):
            field = "temperature" if options["temperature"] is None else "pressure"
            raise InvalidInput(field, options[field], "either a temperature or a pressure, not both")
        try:
            atmosphere_pa = _atmosphere_pa(options["altitude"])
            if options["pressure"] is None:
                temperature_c = parse_temperature_c(options["temperature"])
                saturation = saturation_at_temperature(designation, temperature_c)
            else:
                pressure_pa = parse_pressure_pa(options["pressure"], atmosphere_pa=atmosphere_pa)
                saturation = saturation_at_pressure(designation, pressure_pa)
        except InvalidInput as error:
            # What was typed says more than what it was turned into.
            raise InvalidInput(error.field, options.get(error.field, error.value), error.expected) from error
        return _answer(designation, saturation, atmosphere_pa)


def _atmosphere_pa(altitude: str | None) -> float:
    return STANDARD_ATMOSPHERE_PA if altitude is None else standard_atmosphere_pa(parse_altitude_m(altitude))


def _answer(designation: str, saturation: Saturation, atmosphere_pa: float) -> dict[str, Any]:
    return {
        "refrigerant": designation,
        "bubble": _point(saturation.bubble, atmosphere_pa),
        "dew": _point(saturation.dew, atmosphere_pa),
        "liquid_density_kg_m3": round(saturation.liquid_density_kg_m3, 3),
        "vapour_density_kg_m3": round(saturation.vapour_density_kg_m3, 4),
        "atmosphere_kpa": round(atmosphere_pa / 1000, 3),
        "model": saturation.model,
        "accuracy": saturation.accuracy,
    }


def _point(point: SaturationPoint, atmosphere_pa: float) -> dict[str, float]:
    return {
        "temperature_c": round(point.temperature_c, 3),
        "temperature_f": round(point.temperature_c * 1.8 + 32, 3),
        "pressure_kpa_abs": round(point.pressure_pa / 1000, 4),
        "pressure_psig": round(gauge_psi(point.pressure_pa, atmosphere_pa), 3),
    }
