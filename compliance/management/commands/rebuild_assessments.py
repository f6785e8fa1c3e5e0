"""Assesses every appliance anew: the stored answers are a cache, and this fills it."""

from typing import Any

from django.core.management.base import BaseCommand
from django.utils import timezone

from compliance.services.assessments import appliance_reassess
from jobs.models import Appliance


class Command(BaseCommand):
    help = "Assess every appliance anew from its records, as of today at its site."

    def handle(self, *args: Any, **options: Any) -> None:
        now = timezone.now()
        count = 0
        for appliance in Appliance.objects.select_related("site").order_by("pk").iterator(chunk_size=200):
            as_of = now.astimezone(appliance.site.zone).date()
            appliance_reassess(appliance=appliance, as_of=as_of, assessed_at=now)
            count += 1
        self.stdout.write(f"{count} appliances assessed.")
