"""Saturation against correlations of other libraries that don't share the equation of state.

Source: Wagner coefficients of McGarry (1983) and of Poling, The Properties of Gases and Liquids, 5th ed.; DIPPR 801
(Perry's Chemical Engineers' Handbook, 8th ed.); VDI Heat Atlas, 2nd ed.; all in the open-source libraries chemicals and
thermo. Left out are their methods that wrap or fit the same equations, plain Antoine fits, tabulated VDI densities
(that of R-125 is 34 % off), and DIPPR vapour pressures of R-600a, R-717 and R-1270, which differ from the other
correlations too (up to 1.5 %).
"""

from functools import cache

import pytest
from chemicals import MW
from thermo import VaporPressure, VolumeLiquid

from jobs.physics.saturation import saturation_at_temperature

CAS = {
    "R-12": "75-71-8",
    "R-22": "75-45-6",
    "R-32": "75-10-5",
    "R-125": "354-33-6",
    "R-134a": "811-97-2",
    "R-143a": "420-46-2",
    "R-152a": "75-37-6",
    "R-290": "74-98-6",
    "R-600a": "75-28-5",
    "R-717": "7664-41-7",
    "R-744": "124-38-9",
    "R-1270": "115-07-1",
}
TEMPERATURES_C = dict.fromkeys(CAS, (-40, 0, 25, 54.44)) | {"R-744": (-40, 0)}
PRESSURE_METHODS = (
    "WAGNER_MCGARRY",
    "WAGNER_POLING",
    "DIPPR_PERRY_8E",
    "VDI_PPDS",
    "ANTOINE_EXTENDED_POLING",
)
DENSITY_METHODS = ("DIPPR_PERRY_8E", "VDI_PPDS")
LEFT_OUT = {(refrigerant, "DIPPR_PERRY_8E") for refrigerant in ("R-600a", "R-717", "R-1270")}

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


@pytest.mark.parametrize("refrigerant", sorted(CAS.keys() - {"R-125", "R-134a"}))
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
