"""The repository's own files, as the tests about it see them."""

import ast
import subprocess
from collections.abc import Iterator
from functools import cache
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
ROOMS = ("portal", "jobs", "compliance")
VENDORED = "portal/web/static/vendor/"


@cache
def tracked_files() -> tuple[str, ...]:
    """Return the paths that git tracks and that are still there, relative to the root."""
    # The checkout may belong to another user than the one who tests it.
    git = ["git", "-c", f"safe.directory={ROOT}", "-C", str(ROOT), "ls-files", "-z"]
    output = subprocess.run(git, check=True, capture_output=True, text=True).stdout
    return tuple(path for path in output.split("\0") if path and (ROOT / path).is_file())


def own_text_files() -> Iterator[tuple[str, str]]:
    """Yield path and text of each tracked file that we wrote ourselves."""
    for path in tracked_files():
        if path.startswith(VENDORED):
            continue
        try:
            yield path, (ROOT / path).read_text(encoding="utf-8")
        except UnicodeDecodeError:
            continue


@cache
def modules(*tops: str) -> tuple[tuple[str, str, ast.Module], ...]:
    """Return path, source and syntax tree of the Python modules below the given folders, but migrations."""
    found = []
    for path in tracked_files():
        is_below = path.startswith(tuple(f"{top}/" for top in tops))
        if is_below and path.endswith(".py") and "/migrations/" not in path:
            source = (ROOT / path).read_text(encoding="utf-8")
            found.append((path, source, ast.parse(source, path)))
    return tuple(found)
