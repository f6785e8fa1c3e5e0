"""Charges at which European bands begin, and the worked mixture of Annex VI.

Source: Regulation (EU) 2024/573, OJ L, 2024/573: Art. 3(3) (tonnes = kilograms / 1000 x potential), Art. 5(6) (from 5,
50 and 500 t a check every 12, 6 and 3 months) and Annex VI. The kilograms are those of the common tables, computed by
hand:
5 t of R-134a are 5 x 1000 / 1430 = 3.50 kg.
"""

from decimal import Decimal

import pytest

from compliance.rulebook.refrigerants import find
from tests.oracle.contract import assess_json

KILOGRAMS = {
    "R-134a": ("3.50", "34.97", "349.65"),
    "R-410A": ("2.40", "23.95", "239.52"),
    "R-404A": ("1.27", "12.75", "127.50"),
    "R-32": ("7.41", "74.07", "740.74"),
}
DUE = {0: None, 1: "2027-01-15", 2: "2026-07-15", 3: "2026-04-15"}


def first_check(refrigerant, kilograms):
    """When the first leak check of an appliance installed on 2026-01-15 is due; None where none is owed."""
    answer = assess_json(
        {
            "as_of": "2026-01-16",
            "rules": ["eu"],
            "appliance": {
                "category": "commercial_refrigeration",
                "refrigerant": refrigerant,
                "full_charge": {"value": kilograms, "unit": "kg"},
                "installed_on": "2026-01-15",
                "leak_rate_method": "annualizing",
            },
            "facts": [],
        }
    )
    return next((row["due_on"] for row in answer["obligations"] if row["kind"] == "leak_check"), None)


@pytest.mark.parametrize("refrigerant", KILOGRAMS)
@pytest.mark.parametrize("band", [1, 2, 3])
def test_a_band_begins_at_the_printed_kilograms(refrigerant, band):
    printed = Decimal(KILOGRAMS[refrigerant][band - 1])

    assert first_check(refrigerant, printed + Decimal("0.01")) == DUE[band]
    assert first_check(refrigerant, printed - Decimal("0.01")) == DUE[band - 1]


def test_the_worked_mixture_of_annex_vi_comes_to_13():
    # Annex VI: 60 % dimethyl ether (1), 10 % HFC-152a, 30 % isobutane; the result is printed as 13.0.
    parts = ((60, Decimal(1)), (10, find("R-152a").gwp_eu_2024_573), (30, find("R-600a").gwp_eu_2024_573))

    assert sum(share * potential for share, potential in parts) / 100 == Decimal("13.0")
