"""Arguments that several commands take."""

from datetime import datetime

from django.utils import timezone


def instant(text: str) -> datetime:
    """An instant such as ``2026-03-02T14:30``; at the firm unless it names its offset.

    Raises:
        ValueError: it is none.
    """
    moment = datetime.fromisoformat(text)
    return moment if moment.tzinfo else timezone.make_aware(moment)
