"""Many ids as one parameter give the rows that ``IN`` gives."""

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from jobs.models import Appliance, ServiceEvent, Transfer
from jobs.selectors.among import AmongIds

pytestmark = pytest.mark.django_db


@pytest.mark.parametrize("column", ["event", "event__appliance", "to_holder__appliance__site"])
def test_among_gives_the_rows_that_in_gives(demo_firm, column):
    ids = list(Transfer.objects.exclude(**{column: None}).values_list(column, flat=True).distinct())[::2]

    among = Transfer.objects.filter(AmongIds(column, ids)).order_by("pk")

    assert list(among) == list(Transfer.objects.filter(**{f"{column}__in": ids}).order_by("pk"))
    assert among.exists()
    assert among.count() < Transfer.objects.count()


def test_not_among_gives_the_others(demo_firm):
    ids = list(Appliance.objects.values_list("pk", flat=True)[:3])

    others = ServiceEvent.objects.filter(~AmongIds("appliance", ids)).order_by("pk")

    assert list(others) == list(ServiceEvent.objects.exclude(appliance__in=ids).order_by("pk"))


def test_among_none_asks_the_database_nothing(demo_firm):
    with CaptureQueriesContext(connection) as queries:
        assert list(Appliance.objects.filter(AmongIds("pk", []))) == []
        assert Appliance.objects.filter(~AmongIds("pk", [])).exists()

    assert len(queries) == 1
