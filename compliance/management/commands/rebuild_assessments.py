"""Assesses every appliance anew: the stored answers are a cache, and this fills it."""

from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from compliance.services.assessments import appliances_reassess
from compliance.services.sweeps import CHUNK
from jobs.models import Appliance


class Command(BaseCommand):
    help = "Assess every appliance anew from its records, as of today at its site, and mend every stored row."

    def handle(self, *args: Any, **options: Any) -> None:
        """Assess chunk by chunk.

        Raises:
            CommandError: naming the appliances that couldn't be assessed, after all others were.
        """
        ids = list(Appliance.objects.order_by("pk").values_list("pk", flat=True))
        count, failures = 0, []
        for start in range(0, len(ids), CHUNK):
            chunk = ids[start : start + CHUNK]
            outcome = appliances_reassess(appliance_ids=chunk, now=timezone.now(), is_rebuild=True)
            count += outcome.assessed
            failures += outcome.failures
        self.stdout.write(f"{count} appliances assessed.")
        if failures:
            raise CommandError("\n".join(["Not assessed:", *failures]))
