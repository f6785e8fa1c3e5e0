"""Saturation against correlations of other libraries that don't share the equation of state.

Source: Wagner coefficients of McGarry (1983) and of Poling, The Properties of Gases and Liquids, 5th ed.; DIPPR 801
(Perry's Chemical Engineers' Handbook, 8th ed.); VDI Heat Atlas, 2nd ed.; all in the open-source libraries chemicals and
thermo. Left out are their methods that wrap or fit the same equations, plain Antoine fits, tabulated VDI densities
(that of R-125 is 34 % off), and what differs from other sources too: DIPPR vapour pressures of R-600a, R-717 and R-1270
(up to 1.5 %), the VDI one of R-11 in the cold (0.8 %), the extended Antoine fit of R-114 (0.6 %). The newer
refrigerants (R-227ea, R-245fa, the olefins) are in none of these.
"""

from functools import cache

import pytest
from chemicals import MW
from thermo import VaporPressure, VolumeLiquid

from jobs.physics.saturation import saturation_at_temperature

CAS = {
    "R-11": "75-69-4",
    "R-12": "75-71-8",
    "R-13": "75-72-9",
    "R-22": "75-45-6",
    "R-23": "75-46-7",
    "R-32": "75-10-5",
    "R-113": "76-13-1",
    "R-114": "76-14-2",
    "R-115": "76-15-3",
    "R-116": "76-16-4",
    "R-123": "306-83-2",
    "R-124": "2837-89-0",
    "R-125": "354-33-6",
    "R-134a": "811-97-2",
    "R-142b": "75-68-3",
    "R-143a": "420-46-2",
    "R-152a": "75-37-6",
    "R-290": "74-98-6",
    "R-600": "106-97-8",
    "R-600a": "75-28-5",
    "R-717": "7664-41-7",
    "R-744": "124-38-9",
    "R-1270": "115-07-1",
}
# Within the range of each equation, and away from critical points.
TEMPERATURES_C = (
    dict.fromkeys(CAS, (-40, 0, 25, 54.44))
    | dict.fromkeys(("R-23", "R-116", "R-744"), (-40, 0))
    | dict.fromkeys(("R-113", "R-114"), (0, 25, 54.44))
)
PRESSURE_METHODS = (
    "WAGNER_MCGARRY",
    "WAGNER_POLING",
    "DIPPR_PERRY_8E",
    "VDI_PPDS",
    "ANTOINE_EXTENDED_POLING",
)
DENSITY_METHODS = ("DIPPR_PERRY_8E", "VDI_PPDS")
LEFT_OUT = {
    *((refrigerant, "DIPPR_PERRY_8E") for refrigerant in ("R-600a", "R-717", "R-1270")),
    ("R-11", "VDI_PPDS"),
    ("R-114", "ANTOINE_EXTENDED_POLING"),
}
WITHOUT_DENSITY = {"R-115", "R-116", "R-123", "R-124", "R-125", "R-134a", "R-142b"}

PRESSURE_TOLERANCE = 0.005
DENSITY_TOLERANCE = 0.006


@cache
def _saturation(refrigerant, temperature_c):
    return saturation_at_temperature(refrigerant, temperature_c)


def _differences(correlation, methods, refrigerant, ours, theirs):
    """Relative differences by method and temperature, where the method reaches."""
    differences = {}
    for method in methods:
        if method not in correlation.all_methods:
            continue
        lowest_k, highest_k = correlation.T_limits[method]
        for temperature_c in TEMPERATURES_C[refrigerant]:
            kelvin = temperature_c + 273.15
            if lowest_k <= kelvin <= highest_k:
                reference = theirs(correlation.calculate(kelvin, method))
                differences[method, temperature_c] = (
                    ours(_saturation(refrigerant, temperature_c)) / reference - 1
                )
    return differences


@pytest.mark.parametrize("refrigerant", CAS)
def test_pressure_agrees_with_independent_correlations(refrigerant):
    methods = [method for method in PRESSURE_METHODS if (refrigerant, method) not in LEFT_OUT]

    differences = _differences(
        VaporPressure(CASRN=CAS[refrigerant]),
        methods,
        refrigerant,
        ours=lambda saturation: saturation.bubble.pressure_pa,
        theirs=lambda pressure_pa: pressure_pa,
    )

    assert differences
    assert {key: gap for key, gap in differences.items() if abs(gap) > PRESSURE_TOLERANCE} == {}


@pytest.mark.parametrize("refrigerant", sorted(CAS.keys() - WITHOUT_DENSITY))
def test_liquid_density_agrees_with_independent_correlations(refrigerant):
    differences = _differences(
        VolumeLiquid(CASRN=CAS[refrigerant]),
        DENSITY_METHODS,
        refrigerant,
        ours=lambda saturation: saturation.liquid_density_kg_m3,
        theirs=lambda molar_volume_m3: MW(CAS[refrigerant]) / 1000 / molar_volume_m3,
    )

    assert differences
    assert {key: gap for key, gap in differences.items() if abs(gap) > DENSITY_TOLERANCE} == {}
