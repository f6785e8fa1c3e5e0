import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parents[3]

PROGRAM = """
import pkgutil, sys
import jobs.physics
for module in pkgutil.iter_modules(jobs.physics.__path__):
    __import__("jobs.physics." + module.name)
from jobs.physics.fill_limits import max_net_mg
max_net_mg("R-438A", 20_000_000)
print(sorted({"CoolProp", "django", "numpy", "compliance"} & sys.modules.keys()))
"""


def test_fill_limit_loads_neither_coolprop_nor_django():
    program = [sys.executable, "-c", PROGRAM]

    done = subprocess.run(program, cwd=ROOT, capture_output=True, text=True, check=True)

    assert done.stdout.strip() == "[]"
