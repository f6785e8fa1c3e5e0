"""Lines of the log, without the addresses that let their bearer in."""

import logging
import re

# Whoever has one of these reads a person's calendar, or acknowledges a person's reminders.
SECRETS = re.compile(r"(?<=/calendar/)[^/\s]+(?=\.ics)|(?<=/reminders/acknowledge/)[^/\s?#]+")


class LineFormatter(logging.Formatter):
    """Formats a record with what came of it, a traceback included, and hides the secret part of an address."""

    def format(self, record: logging.LogRecord) -> str:
        """The line, or lines."""
        return SECRETS.sub("(hidden)", super().format(record))
