"""The day on which feeds are read."""

import pytest

from tests.compliance.calendar_feeds.reading import NOW


@pytest.fixture
def tenth_of_march(time_machine):
    time_machine.move_to(NOW, tick=False)
