"""The calendar date at each site, inside a query: legal clocks count days in the site's own time zone."""

import datetime
import zoneinfo

from django.db.models import Case, DateField, Value, When

from jobs.models import Site


def site_today(now: datetime.datetime, time_zone: str, *, days_later: int = 0) -> Case:
    """An expression for the date at a row's site.

    Args:
        now: the instant asked about.
        time_zone: the path from the row to its site's time zone, such as ``site__time_zone``.
        days_later: so many days after that date.
    """
    zones = Site.objects.order_by("time_zone").values_list("time_zone", flat=True).distinct()
    later = datetime.timedelta(days=days_later)

    def date_in(zone: datetime.tzinfo) -> Value:
        return Value(now.astimezone(zone).date() + later, output_field=DateField())

    whens = [When(**{time_zone: zone}, then=date_in(zoneinfo.ZoneInfo(zone))) for zone in zones]
    return Case(*whens, default=date_in(datetime.UTC), output_field=DateField())
