"""What people chose for their reminders, and whose e-mails wait at an instant because of that."""

import datetime
from collections.abc import Iterable

from django.conf import settings
from django.db.models import Q, QuerySet

from compliance.models import ReminderPreference, ReminderRhythm
from compliance.selectors.sending_hours import SendingHours, contact_hours, sending_hours
from jobs.models import Appliance, Site
from portal.accounts.models import User


def preference_of(user: User) -> ReminderPreference:
    """What a person chose; the default, not saved, where nothing was chosen yet."""
    chosen = ReminderPreference.objects.filter(user=user).first()
    return chosen or ReminderPreference(user=user, time_zone=settings.TIME_ZONE)


def digest_preferences() -> QuerySet[ReminderPreference]:
    """The preferences of those who get a digest."""
    digest = ReminderPreference.objects.filter(rhythm=ReminderRhythm.DIGEST, user__is_active=True)
    return digest.select_related("user").order_by("pk")


def quiet_user_ids(now: datetime.datetime) -> list[int]:
    """The users for whom it is quiet at an instant."""
    with_quiet_hours = ReminderPreference.objects.exclude(quiet_from=None)
    return [row.user_id for row in with_quiet_hours if sending_hours(row).is_quiet(now)]


def waits_for_its_hour(now: datetime.datetime) -> Q:
    """A condition on reminders that are e-mails: not to be sent at an instant as an e-mail of their own.

    It joins no table, so that a conditional update by it is still decided row by row.
    """
    digest = ReminderPreference.objects.filter(rhythm=ReminderRhythm.DIGEST).values("user")
    return (
        Q(user__isnull=False, user__in=quiet_user_ids(now))
        | Q(user__isnull=False, user__in=digest)
        | Q(
            user=None,
            appliance__in=Appliance.objects.filter(site__time_zone__in=_quiet_zones(now)).values("pk"),
        )
    )


def rhythm_in_words(hours: SendingHours) -> str:
    """How e-mails reach a person, such as “by e-mail in the digest at 07:00 (Europe/Berlin)”."""
    if hours.digest_hour is not None:
        return f"by e-mail in the digest at {hours.digest_hour:02}:00 ({hours.zone.key})"
    if hours.quiet_from and hours.quiet_to:
        return f"by e-mail, not from {hours.quiet_from:%H:%M} to {hours.quiet_to:%H:%M} ({hours.zone.key})"
    return "by e-mail"


def hours_by_user(user_ids: Iterable[int]) -> dict[int, SendingHours]:
    """The hours of those among the users who chose any."""
    rows = ReminderPreference.objects.filter(user__in=list(user_ids))
    return {row.user_id: sending_hours(row) for row in rows}


def _quiet_zones(now: datetime.datetime) -> list[str]:
    zones = Site.objects.order_by("time_zone").values_list("time_zone", flat=True).distinct()
    return [zone for zone in zones if contact_hours(zone).is_quiet(now)]
