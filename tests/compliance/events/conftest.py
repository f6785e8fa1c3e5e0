"""The scene of the event pages, on one day, and a browser for each of its people."""

from collections.abc import Iterator

import pytest
import time_machine
from django.test import Client

from tests.compliance.events.scene import NOW, Scene, build_scene


@pytest.fixture(autouse=True)
def _on_the_day() -> Iterator[None]:
    with time_machine.travel(NOW, tick=False):
        yield


@pytest.fixture
def scene(db: None) -> Scene:
    return build_scene()


@pytest.fixture
def technician_client(scene: Scene, client: Client) -> Client:
    client.force_login(scene.user)
    return client


@pytest.fixture
def officer_client(scene: Scene) -> Client:
    client = Client()
    client.force_login(scene.officer)
    return client
