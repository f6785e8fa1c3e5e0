"""Where things may stand: the top level, the names inside an app, the direction of imports."""

import ast
import os
import re
import subprocess
import sys
from pathlib import PurePosixPath

import pytest

from tests.architecture.source_tree import ROOMS, ROOT, modules, tracked_files

TOP_LEVEL = {
    *("README.md", "DEVELOPERS.md", "CHANGELOG.md", "LICENSE", "Makefile", ".ci", ".gitignore"),
    *("manage.py", "pyproject.toml", "constraints.txt"),
    *("portal", "jobs", "compliance", "templates", "tests", "fixtures"),
}
INSIDE_AN_APP = {
    *("__init__", "apps", "errors", "models", "selectors", "services", "forms", "tables", "filters"),
    *("views", "urls", "api", "tasks", "admin", "permissions", "signals", "migrations", "management"),
    *("templatetags", "rulebook", "forecast", "weighing", "physics"),
}
NAMES_THAT_SAY_NOTHING = {"utils", "util", "helpers", "helper", "common", "misc"}

# The clock is read at the edges; everything below takes the day or the instant as an argument.
CLOCKS = re.compile(
    r"^(datetime\.)?((date|datetime)\.(today|now|utcnow)|timezone\.(now|localdate|localtime)|time\.time)$"
)
ROOMS_WITHOUT_A_CLOCK = (
    "rulebook",
    "forecast",
    "weighing",
    "physics",
    "models",
    "selectors",
    "forms",
    "filters",
    "tables",
)


def test_nothing_else_stands_at_the_top_level():
    assert {path.split("/")[0] for path in tracked_files()} - TOP_LEVEL == set()


@pytest.mark.parametrize("app", ["jobs", "compliance"])
def test_an_app_holds_only_the_agreed_names(app):
    names = {
        PurePosixPath(path).parts[1].removesuffix(".py")
        for path in tracked_files()
        if path.startswith(f"{app}/")
    }

    assert names - INSIDE_AN_APP == set()


def test_every_module_has_a_name_that_says_something():
    empty_names = [
        path for path, _, _ in modules("tests", *ROOMS) if PurePosixPath(path).stem in NAMES_THAT_SAY_NOTHING
    ]

    assert empty_names == []


def test_the_rooms_depend_on_each_other_in_one_direction():
    command = [
        sys.executable,
        "-c",
        "from importlinter.cli import lint_imports_command as c; c()",
        "--no-cache",
    ]

    linter = subprocess.run(
        command, cwd=ROOT, env={**os.environ, "NO_COLOR": "1"}, capture_output=True, text=True, check=False
    )

    assert linter.returncode == 0, linter.stdout + linter.stderr


def test_no_layer_below_the_views_reads_the_clock():
    readings = [
        (path, node.lineno, ast.unparse(node))
        for path, _, tree in modules("jobs", "compliance")
        if any(f"/{room}" in path for room in ROOMS_WITHOUT_A_CLOCK) and "/management/" not in path
        for node in ast.walk(tree)
        if isinstance(node, ast.Call) and CLOCKS.match(ast.unparse(node.func))
    ]

    assert readings == []
