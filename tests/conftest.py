"""What every test may ask for, and which tests a run takes."""

import os
import shutil
from collections.abc import Iterator
from pathlib import Path

import hypothesis
import pytest
import redis
from django.core.cache import cache

from tests import brokers
from tests.demo_firm import demo_database, demo_firm  # noqa: F401 -- fixtures of any test
from tests.filed_tables import _filed_tables_can_be_emptied  # noqa: F401 -- a fixture of every test

DATABASE_FIXTURES = {"db", "transactional_db", "django_db_serialized_rollback", "live_server"}

# The same examples every time, so that a red run is red for everyone; `make proof` draws new ones.
hypothesis.settings.register_profile("sample", deadline=None, derandomize=True)
hypothesis.settings.register_profile("proof", deadline=None, print_blob=True)
hypothesis.settings.load_profile("sample")


def pytest_addoption(parser: pytest.Parser) -> None:
    """Add the option by which a second run, on another database, takes only what that can change."""
    parser.addoption("--only-db", action="store_true", help="run only the tests that touch the database")


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Leave long proofs out unless -m speaks of them; with --only-db leave out what needs no database."""
    takes_proofs = "proof" in config.option.markexpr
    only_db = config.getoption("only_db")
    taken, left = [], []
    for item in items:
        is_left = (only_db and not _touches_database(item)) or (
            not takes_proofs and item.get_closest_marker("proof")
        )
        (left if is_left else taken).append(item)
    if left:
        config.hook.pytest_deselected(items=left)
        items[:] = taken


def _touches_database(item: pytest.Item) -> bool:
    if item.get_closest_marker("django_db"):
        return True
    return bool(DATABASE_FIXTURES.intersection(getattr(item, "fixturenames", ())))


@pytest.fixture(autouse=True)
def _fresh_cache() -> Iterator[None]:
    """Start each test with an empty cache: sign-in locks and the like don't leak."""
    yield
    cache.clear()


@pytest.fixture
def folder_broker(transactional_db: None, tmp_path: Path) -> Iterator[brokers.FolderBroker]:
    """The broker made of files, with real worker processes; see tests/brokers.py."""
    broker = brokers.FolderBroker(tmp_path)
    broker.clear()
    yield broker
    broker.close()


@pytest.fixture
def redis_broker(transactional_db: None, tmp_path: Path) -> Iterator[brokers.RedisBroker]:
    """A real Redis, with real worker processes; see tests/brokers.py.

    Skips where no Redis answers, unless TEST_REDIS_URL says that there must be one.
    """
    broker = brokers.RedisBroker(tmp_path)
    try:
        broker.redis.ping()
    except redis.ConnectionError:
        if "TEST_REDIS_URL" in os.environ:
            raise
        pytest.skip(f"no Redis answers at {brokers.REDIS_URL}")
    yield broker
    broker.close()


@pytest.fixture
def own_redis_broker(transactional_db: None, tmp_path: Path) -> Iterator[brokers.OwnRedisBroker]:
    """A Redis of the test's own, which it may stop."""
    if not shutil.which("redis-server"):
        pytest.skip("no redis-server is installed")
    broker = brokers.OwnRedisBroker(tmp_path)
    yield broker
    broker.close()


@pytest.fixture(params=["folder", pytest.param("redis", marks=pytest.mark.redis)])
def broker(request: pytest.FixtureRequest, transactional_db: None) -> brokers.TestBroker:
    """Both brokers, one after the other."""
    return request.getfixturevalue(f"{request.param}_broker")
