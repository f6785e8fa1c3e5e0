"""Reads every filed log of a scale anew: the stored readings are a cache, and this fills it."""

from typing import Any

from django.core.management.base import BaseCommand, CommandError

from jobs.services.weigh_logs import weigh_log_readings_rebuild


class Command(BaseCommand):
    """Exits 1 where a log can't be read any more; its former reading stays."""

    help = "Read and weigh every filed log of a scale anew."

    def handle(self, *args: Any, **options: Any) -> None:
        count, unread = 0, 0
        for log, problem in weigh_log_readings_rebuild():
            count += 1
            if problem:
                unread += 1
                self.stdout.write(f"{log.transfer.event}, {log}: {problem}")
        if unread:
            raise CommandError(f"{unread} of {count} logs can't be read any more.", returncode=1)
        self.stdout.write(f"{count} logs read.")
