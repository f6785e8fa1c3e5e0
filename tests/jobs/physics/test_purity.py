import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parents[3]

PROGRAM = """
import pkgutil, sys
import jobs.physics
for module in pkgutil.iter_modules(jobs.physics.__path__):
    __import__("jobs.physics." + module.name)
from jobs.physics.charge_estimate import ChargeInputs, Vessel, estimate_charge
from jobs.physics.fill_limits import max_net_mg
from jobs.physics.non_condensables import check_pressure
from jobs.physics.residual import residual_after_evacuation
from jobs.physics.tabled_saturation import tabled_at_pressure, tabled_at_temperature
max_net_mg("R-438A", 20_000_000)
tabled_at_temperature("R-410A", 21)
tabled_at_pressure("R-410A", 1_000_000)
check_pressure("R-134a", 25, 665_800)
residual_after_evacuation("R-22", 100, 25, 50_000)
estimate_charge(ChargeInputs("R-410A", (Vessel("receiver", 5, 40, 50),), ()))
print(sorted({"CoolProp", "django", "numpy", "compliance"} & sys.modules.keys()))
"""


def test_what_pages_ask_loads_neither_coolprop_nor_django():
    program = [sys.executable, "-c", PROGRAM]

    done = subprocess.run(program, cwd=ROOT, capture_output=True, text=True, check=True)

    assert done.stdout.strip() == "[]"
