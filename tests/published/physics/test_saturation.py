"""Saturation against printed tables."""

import tomllib
from pathlib import Path

import pytest

from jobs.physics.saturation import saturation_at_pressure, saturation_at_temperature

TABLES = tomllib.loads((Path(__file__).parent / "saturation.toml").read_text(encoding="utf-8"))["table"]

READ = {
    "bubble_pressure_kpa": lambda saturation: saturation.bubble.pressure_pa / 1000,
    "dew_pressure_kpa": lambda saturation: saturation.dew.pressure_pa / 1000,
    "bubble_temperature_c": lambda saturation: saturation.bubble.temperature_c,
    "dew_temperature_c": lambda saturation: saturation.dew.temperature_c,
    "liquid_density_kg_m3": lambda saturation: saturation.liquid_density_kg_m3,
    "vapour_density_kg_m3": lambda saturation: saturation.vapour_density_kg_m3,
    "liquid_volume_m3_kg": lambda saturation: 1 / saturation.liquid_density_kg_m3,
    "vapour_volume_m3_kg": lambda saturation: 1 / saturation.vapour_density_kg_m3,
}


def _cases():
    for table in TABLES:
        for value in table["values"]:
            quantity = (READ.keys() & value.keys()).pop()
            at = value.get("temperature_c", value.get("pressure_kpa"))
            yield pytest.param(value, quantity, id=f"{value['refrigerant']} {at} {quantity}")


@pytest.mark.parametrize(("published", "quantity"), list(_cases()))
def test_saturation_is_the_printed_value(published, quantity):
    if "temperature_c" in published:
        saturation = saturation_at_temperature(published["refrigerant"], published["temperature_c"])
    else:
        saturation = saturation_at_pressure(published["refrigerant"], published["pressure_kpa"] * 1000)

    tolerance = {"abs": published["tolerance_k"]} if "tolerance_k" in published else {}
    if "tolerance_pct" in published:
        tolerance = {"rel": published["tolerance_pct"] / 100}
    assert READ[quantity](saturation) == pytest.approx(published[quantity], **tolerance)


def test_every_table_names_its_source():
    assert all(table["source"] for table in TABLES)
    assert sum(len(table["values"]) for table in TABLES) >= 50
