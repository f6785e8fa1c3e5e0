"""The rulebook stands alone: the standard library and numpy, no clock, nothing of ours besides itself."""

import ast
import sys
from pathlib import Path

import compliance.forecast
import compliance.rulebook

ROOT = Path(compliance.rulebook.__file__).parent
MODULES = sorted(ROOT.rglob("*.py"))
# What is estimated from the rulebook's answers is as pure.
FORECAST = sorted(Path(compliance.forecast.__file__).parent.rglob("*.py"))
CLOCKS = {"today", "now", "utcnow", "time"}


def imported(tree):
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            yield from (name.name for name in node.names)
        elif isinstance(node, ast.ImportFrom):
            yield node.module or ""


def test_it_imports_the_standard_library_numpy_and_itself():
    ours = dict.fromkeys(MODULES, ("compliance.rulebook",))
    ours |= dict.fromkeys(FORECAST, ("compliance.rulebook", "compliance.forecast"))
    for path, packages in ours.items():
        for name in imported(ast.parse(path.read_text(encoding="utf-8"))):
            root = name.split(".")[0]
            is_allowed = root in sys.stdlib_module_names or root == "numpy" or name.startswith(packages)
            assert is_allowed, (path.name, name)


def test_it_reads_no_clock():
    for path in MODULES + FORECAST:
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            called = node.func if isinstance(node, ast.Call) else None
            assert not (isinstance(called, ast.Attribute) and called.attr in CLOCKS), (path.name, node.lineno)


def test_every_choice_is_quoted_somewhere():
    source = "\n".join(path.read_text(encoding="utf-8") for path in MODULES if path.name != "policy.py")
    policy = ast.parse((ROOT / "policy.py").read_text(encoding="utf-8"))
    names = [node.targets[0].id for node in policy.body if isinstance(node, ast.Assign)]

    assert names
    assert [name for name in names if f"policy.{name}" not in source] == []
