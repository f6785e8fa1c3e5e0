"""The calendar date at each site, inside a query: legal clocks count days in the site's own time zone."""

import datetime
import zoneinfo

from django.db.models import Case, DateField, Value, When

from jobs.models import Site


class SiteDates:
    """The dates at all sites at one instant, as expressions for queries."""

    def __init__(self, now: datetime.datetime) -> None:
        zones = Site.objects.order_by("time_zone").values_list("time_zone", flat=True).distinct()
        self._elsewhere = now.astimezone(datetime.UTC).date()
        self._by_zone = {zone: now.astimezone(zoneinfo.ZoneInfo(zone)).date() for zone in zones}

    def today(self, time_zone: str, *, days_later: int = 0) -> Case:
        """An expression for the date at a row's site, or for one some days later.

        Args:
            time_zone: the path from the row to its site's time zone, such as ``site__time_zone``.
            days_later: so many days after that date.
        """
        later = datetime.timedelta(days=days_later)
        whens = [
            When(**{time_zone: zone}, then=Value(on + later, output_field=DateField()))
            for zone, on in self._by_zone.items()
        ]
        default = Value(self._elsewhere + later, output_field=DateField())
        return Case(*whens, default=default, output_field=DateField())
