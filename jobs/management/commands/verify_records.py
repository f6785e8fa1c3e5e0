"""The command that recomputes the hash chains of all filed records."""

from typing import Any

from django.core.management.base import BaseCommand, CommandError

from jobs.models import ChainLink
from jobs.services.verification import records_verify


class Command(BaseCommand):
    """Names the first record of each chain that doesn't match; exits 1 if there is one."""

    help = "Recompute the hashes of all filed records and kept logs, and name the first that doesn't match."

    def handle(self, *args: Any, **options: Any) -> None:
        broken = list(records_verify())
        for record in broken:
            self.stdout.write(str(record))
        if broken:
            raise CommandError(f"{len(broken)} record(s) don't match what was filed.", returncode=1)
        links = ChainLink.objects.order_by()
        chains = links.values("chain").distinct().count()
        self.stdout.write(f"All {links.count()} links of {chains} chains match.")
