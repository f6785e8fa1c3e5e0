"""The demo firm loads on any day, since it is made relative to the day it is loaded."""

from datetime import UTC, date, datetime, time

import pytest

from compliance.models import Obligation, ObligationStatus
from tests.demo_firm import load


@pytest.mark.parametrize(
    "today",
    [
        date(2028, 2, 29),
        pytest.param(date(2027, 1, 3), marks=pytest.mark.proof),
        pytest.param(date(2029, 7, 1), marks=pytest.mark.proof),
        pytest.param(date(2031, 12, 31), marks=pytest.mark.proof),
    ],
)
def test_demo_firm_loads_on_other_days_too(db: None, today: date) -> None:
    load(datetime.combine(today, time(18), tzinfo=UTC))

    live = Obligation.objects.filter(status__in=[ObligationStatus.OPEN, ObligationStatus.OVERDUE])
    assert live.filter(kind="repair").count() >= 5
