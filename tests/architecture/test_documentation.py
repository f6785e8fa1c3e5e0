"""What an operator or a developer can set, run or read is written down."""

import re
import tomllib
from pathlib import PurePosixPath

import pytest
from django.apps import apps

from jobs.services.log_uploads import LOG_BYTES_MAX
from tests.architecture.source_tree import ROOT, modules, tracked_files

README = (ROOT / "README.md").read_text(encoding="utf-8")
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
DOCUMENTS = README + DEVELOPERS
MAKEFILE = (ROOT / "Makefile").read_text(encoding="utf-8")

SETTINGS = sorted(
    {name for _, source, _ in modules("portal") for name in re.findall(r'\benv\.\w+\(\s*"(\w+)"', source)}
)
COMMANDS = sorted(
    PurePosixPath(path).stem
    for path in tracked_files()
    if "/management/commands/" in path and not path.endswith("__init__.py")
)
TARGETS = sorted(set(re.findall(r"^([a-z-]+):.*## ", MAKEFILE, flags=re.MULTILINE)) - {"help"})
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
DEPENDENCIES = sorted(
    re.match(r"[\w.-]+", requirement)[0]
    for requirement in [*PROJECT["dependencies"], *PROJECT["optional-dependencies"]["dev"]]
)


def _table_names(heading):
    """Return the first cells of the table below a heading of DEVELOPERS.md."""
    section = re.split(rf"^## {heading}$", DEVELOPERS, flags=re.MULTILINE)[1].split("\n## ")[0]
    return {
        name for row in re.findall(r"^\| ([^|]+) \|", section, flags=re.MULTILINE) for name in row.split(", ")
    }


def test_there_is_something_to_check():
    assert {"DATA_DIR", "DATABASE_URL", "REDIS_URL"} <= set(SETTINGS)
    assert {"serve", "load_demo_firm", "assess"} <= set(COMMANDS)
    assert {"demo", "test", "proof"} <= set(TARGETS)


@pytest.mark.parametrize("name", SETTINGS)
def test_a_setting_is_documented(name):
    assert f"`{name}`" in DOCUMENTS


@pytest.mark.parametrize("name", COMMANDS)
def test_a_command_is_documented(name):
    assert f"`{name}`" in DOCUMENTS or f"manage.py {name}" in DOCUMENTS


@pytest.mark.parametrize("name", TARGETS)
def test_a_make_target_is_documented(name):
    assert f"make {name}" in DOCUMENTS


def test_each_dependency_says_what_it_spares_us():
    rows = {name.strip("` ") for name in _table_names("Dependencies")}

    assert set(DEPENDENCIES) - rows == set()


def test_no_documented_dependency_is_gone():
    rows = {name.strip("` ") for name in _table_names("Dependencies")} - {"package", "---"}

    assert rows - set(DEPENDENCIES) == set()


def test_the_glossary_explains_each_model():
    models = {
        model._meta.verbose_name
        for app in ("accounts", "jobs", "compliance")
        for model in apps.get_app_config(app).get_models()
        if not model.__name__.startswith("Historical")
    }

    assert models - _table_names("Glossary") == set()


def test_every_dependency_has_an_upper_bound_and_an_exact_pin():
    requirements = [*PROJECT["dependencies"], *PROJECT["optional-dependencies"]["dev"]]
    pins = set(re.findall(r"^([\w.-]+)==", (ROOT / "constraints.txt").read_text(), flags=re.MULTILINE))

    assert [line for line in requirements if "<" not in line and not line.startswith("tzdata")] == []
    assert {_normal(name) for name in DEPENDENCIES} - {_normal(name) for name in pins} == set()


def _normal(name):
    return re.sub(r"[-_.]+", "-", name).lower()


def test_the_example_proxy_lets_a_form_with_several_logs_through():
    """A visit's form may bring a log with each transfer; a proxy that takes less answers 413 before the portal can."""
    (megabytes,) = re.findall(r"client_max_body_size (\d+)m;", README)

    assert int(megabytes) * 1024**2 >= 4 * LOG_BYTES_MAX
