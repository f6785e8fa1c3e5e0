"""A person's own choice of how to be reminded."""

import datetime
from typing import Any

from django.db import transaction

from compliance.models import ReminderPreference, ReminderRhythm
from compliance.selectors.reminder_preferences import preference_of
from compliance.selectors.sending_hours import HOURS, falls_between
from jobs.services.refusals import Refusals, change_fields, save_register
from portal.accounts.models import User

PREFERENCE_FIELDS = frozenset({"rhythm", "digest_hour", "quiet_from", "quiet_to", "time_zone"})


@transaction.atomic
def reminder_preference_choose(*, by: User, **fields: Any) -> ReminderPreference:
    """Choose how one's own reminders come by e-mail; former choices stay in the history.

    Args:
        by: whose choice it is.
        fields: rhythm, digest_hour (0 to 23), quiet_from and quiet_to (both or neither), time_zone.

    Raises:
        SubmissionRefused: a field is not valid, quiet hours lack an end, or the digest falls into them.
    """
    preference = preference_of(by)
    change_fields(preference, fields, PREFERENCE_FIELDS)
    refusals = Refusals()
    _check_quiet_hours(refusals, preference)
    save_register(preference, by=by, refusals=refusals)
    return preference


def _check_quiet_hours(refusals: Refusals, preference: ReminderPreference) -> None:
    start, end = preference.quiet_from, preference.quiet_to
    if start is not None and end is None:
        refusals.add("quiet_to", end, "Expected the time at which the quiet hours end.")
    elif start is None and end is not None:
        refusals.add("quiet_from", start, "Expected the time at which the quiet hours begin.")
    elif start is not None and start == end:
        expected = f"Expected another time than {start:%H:%M}, at which the quiet hours begin."
        refusals.add("quiet_to", f"{start:%H:%M}", expected)
    elif start is not None and end is not None and _is_digest_within(preference, start, end):
        expected = f"Expected an hour outside your quiet hours, {start:%H:%M} to {end:%H:%M}."
        refusals.add("digest_hour", f"{preference.digest_hour:02}:00", expected)


def _is_digest_within(preference: ReminderPreference, start: datetime.time, end: datetime.time) -> bool:
    if preference.rhythm != ReminderRhythm.DIGEST or preference.digest_hour not in HOURS:
        return False
    return falls_between(datetime.time(preference.digest_hour), start, end)
