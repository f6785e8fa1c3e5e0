"""The settings as a deployment meets them: read from the environment by a fresh process."""

import os
import subprocess
import sys

import pytest

from tests.architecture.source_tree import ROOT


def _read(names, **environment):
    code = f"from portal import settings; print([str(getattr(settings, name)) for name in {names!r}])"
    kept = {name: value for name, value in os.environ.items() if name in {"PATH", "LANG", "HOME"}}
    return subprocess.run(
        [sys.executable, "-c", code],
        cwd=ROOT,
        env={**kept, **environment},
        capture_output=True,
        text=True,
        check=False,
    )


def test_the_embedded_default_needs_nothing_set(tmp_path):
    done = _read(
        ["IS_EMBEDDED_DATABASE", "DEBUG", "REDIS_URL", "SECURE_SSL_REDIRECT"], DATA_DIR=str(tmp_path)
    )

    assert done.stdout.strip() == "['True', 'False', '', 'False']"


def test_the_secret_key_is_made_once_and_kept_for_its_owner_alone(tmp_path):
    first = _read(["SECRET_KEY"], DATA_DIR=str(tmp_path)).stdout
    second = _read(["SECRET_KEY"], DATA_DIR=str(tmp_path)).stdout

    assert first == second
    assert len(first.strip()) > 50
    assert (tmp_path / "secret_key").stat().st_mode & 0o077 == 0


def test_tls_makes_the_cookies_secure_and_redirects(tmp_path):
    names = ["SESSION_COOKIE_SECURE", "CSRF_COOKIE_SECURE", "SECURE_SSL_REDIRECT", "SECURE_HSTS_SECONDS"]

    done = _read(names, DATA_DIR=str(tmp_path), SERVED_OVER_TLS="true", SECRET_KEY="s" * 60)

    assert done.stdout.strip() == "['True', 'True', 'True', '31536000']"


@pytest.mark.parametrize(
    ("environment", "words"),
    [
        ({"SERVED_OVER_TLS": "true"}, "SECRET_KEY must be set"),
        ({"DEBUG": "perhaps"}, "DEBUG"),
        ({"DATABASE_URL": "nonsense"}, "DATABASE_URL"),
    ],
)
def test_a_wrong_value_is_refused_by_name(tmp_path, environment, words):
    done = _read(["DEBUG"], DATA_DIR=str(tmp_path), **environment)

    assert done.returncode != 0
    assert words in done.stderr
