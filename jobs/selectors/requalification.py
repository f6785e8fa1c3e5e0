"""The tests of cylinders on record: since when one counts as requalified, and which ones were condemned."""

import datetime
from collections.abc import Iterable
from dataclasses import dataclass

from django.db.models import Q, QuerySet

from jobs.models import Cylinder, RequalificationResult, RequalificationTest


@dataclass(frozen=True)
class CylinderTests:
    """A cylinder's standing tests, and the test date that its register shows without them.

    Attributes:
        passed_on: the days of the tests that it passed, in order.
        condemned_on: the day on which it was condemned, if it was.
        registered_on: the date stamped on it as the register had it before any test was on record.
    """

    passed_on: tuple[datetime.date, ...]
    condemned_on: datetime.date | None
    registered_on: datetime.date | None

    def requalified_on(self, day: datetime.date | None = None) -> datetime.date | None:
        """The last test, or the day it was made, known to have been by a day; the last of all without a day."""
        dates = [on for on in (self.registered_on, *self.passed_on) if on and (day is None or on <= day)]
        # Before the first date on record nothing better is known than that date.
        return max(dates) if dates else self.registered_on


def standing_tests(known_at: datetime.datetime | None = None) -> QuerySet[RequalificationTest]:
    """Tests that were not withdrawn, now or as known at an instant."""
    if known_at is None:
        return RequalificationTest.objects.filter(withdrawal=None)
    withdrawn = Q(withdrawal__filed_at__lte=known_at)
    return RequalificationTest.objects.filter(filed_at__lte=known_at).exclude(withdrawn)


def tests_of(cylinder: Cylinder) -> CylinderTests:
    """Everything that is on record of one cylinder's tests."""
    tests = list(standing_tests().filter(cylinder=cylinder).order_by("happened_on", "pk"))
    newest = RequalificationTest.objects.filter(cylinder=cylinder).order_by("pk").last()
    condemned = [row.happened_on for row in tests if row.result == RequalificationResult.CONDEMNED]
    return CylinderTests(
        passed_on=tuple(row.happened_on for row in tests if row.result == RequalificationResult.PASSED),
        condemned_on=min(condemned, default=None),
        registered_on=newest.former_requalified_on if newest and tests else cylinder.requalified_on,
    )


def last_test(cylinder: Cylinder) -> RequalificationTest | None:
    """The newest test of a cylinder that stands, whatever it came to."""
    return standing_tests().filter(cylinder=cylinder).order_by("happened_on", "pk").last()


def condemned(
    cylinder_ids: Iterable[int], *, on: datetime.date, known_at: datetime.datetime | None = None
) -> dict[int, datetime.date]:
    """Tell which of the cylinders are condemned on a day: id -> since when.

    Args:
        cylinder_ids: those asked about.
        on: the day.
        known_at: counting what was filed by then; everything unless given.
    """
    tests = standing_tests(known_at).filter(
        cylinder__in=list(cylinder_ids), result=RequalificationResult.CONDEMNED, happened_on__lte=on
    )
    return dict(tests.order_by("-happened_on").values_list("cylinder_id", "happened_on"))
