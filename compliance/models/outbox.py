"""What goes out by e-mail: the states of a message, and the columns by which a worker claims and sends it once."""

from django.db import models


class MessageState(models.TextChoices):
    """Where a message stands; a worker claims a row before it sends."""

    WAITING = "waiting", "Waiting"
    SENDING = "sending", "Being sent"
    SENT = "sent", "Sent"
    FAILED = "failed", "Failed"
    DROPPED = "dropped", "Withdrawn"


class OutboxMessage(models.Model):
    """A row that is one message to one recipient."""

    recipient_email = models.EmailField()
    recipient_name = models.CharField(max_length=120, blank=True)
    state = models.CharField(max_length=10, choices=MessageState.choices, default=MessageState.WAITING)
    raised_at = models.DateTimeField()
    claimed_at = models.DateTimeField(null=True)
    next_attempt_at = models.DateTimeField(null=True, help_text="After a failure: not before this instant.")
    sent_at = models.DateTimeField(null=True)
    attempts = models.PositiveSmallIntegerField(default=0)
    undecided_count = models.PositiveSmallIntegerField(
        default=0,
        help_text="Attempts that ended between the handing over of the text and the mail server's answer: nobody can "
        "know whether they arrived (RFC 1047).",
    )
    last_error = models.TextField(blank=True)

    class Meta:
        abstract = True

    @property
    def doubt(self) -> str:
        """What can't be known of its arrival, in words; empty if everything is, or while it is being sent."""
        if not self.undecided_count or self.state == MessageState.SENDING:
            return ""
        arrival = "more than once" if self.state == MessageState.SENT else "all the same"
        return (
            f"It may have arrived {arrival}: the mail server took the text of an attempt and never answered."
        )
