"""The scheduler of the task application: celery's own, which also stands a clock that is set back."""

import datetime
from typing import Any

from celery.beat import PersistentScheduler
from celery.utils.time import maybe_make_aware

# A run that began a moment ahead is a matter of rounding.
AHEAD = datetime.timedelta(seconds=5)
# Before the last run of every entry: each runs once a day at least.
LONG_AGO = datetime.timedelta(days=2)


class ClockScheduler(PersistentScheduler):
    """Runs at once, and by the clock from then on, what ran last at a time that is still to come.

    Celery's own waits until the clock reaches the next run after that one again: after a year ahead, for a year.
    """

    def tick(self, *args: Any, **kwargs: Any) -> float:
        """Run what is due.

        Returns:
            Seconds until something may be due again.
        """
        now = self.app.now()
        ahead = [
            entry for entry in self.schedule.values() if maybe_make_aware(entry.last_run_at) > now + AHEAD
        ]
        for entry in ahead:
            entry.last_run_at = now - LONG_AGO
        if ahead:
            # The heap holds the times that were reckoned by the other clock.
            self.populate_heap()
        seconds: float = super().tick(*args, **kwargs)
        return seconds
