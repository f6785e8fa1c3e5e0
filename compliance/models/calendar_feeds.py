"""Private calendar feeds: who has one, and what calendars were last told of each thing in them."""

from django.conf import settings
from django.db import models


class CalendarFeed(models.Model):
    """One person's feed, for as long as it is switched on; another key is another address.

    The address is the key with its signature, so that whoever reads this table alone can't read the feed.
    """

    user = models.OneToOneField(
        settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="calendar_feed"
    )
    key = models.CharField(max_length=43, unique=True, help_text="The random part of the address.")
    made_at = models.DateTimeField("address made at")
    last_read_at = models.DateTimeField(null=True, help_text="To the minute; of the present address.")

    def __str__(self) -> str:
        return f"Calendar feed of {self.user}"


class CalendarEntry(models.Model):
    """What calendars were last told of one thing owed or running out, and how often its date has moved since.

    It is named by its key, since an obligation's row is a projection that may be rebuilt, and what runs out has none.
    An entry stays when that is settled: if it is owed again, the count goes on.
    """

    owed_key = models.CharField(max_length=160, unique=True)
    due_on = models.DateField()
    revision = models.PositiveIntegerField(default=0, help_text="How often the due date has moved.")
    content_sha256 = models.CharField(max_length=64)
    changed_at = models.DateTimeField()

    class Meta:
        verbose_name_plural = "calendar entries"

    def __str__(self) -> str:
        return f"{self.owed_key} due {self.due_on}"
