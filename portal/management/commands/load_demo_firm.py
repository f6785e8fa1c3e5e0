"""manage.py load_demo_firm: the invented firm with three years of records, made relative to today."""

from typing import Any

from django.core.management.base import BaseCommand
from django.utils import timezone

from portal.demo.load import load_demo_firm


class Command(BaseCommand):
    """Loads the demo firm once; running it again changes nothing."""

    help = "Load the demo firm, unless it is there already."

    def handle(self, *args: Any, **options: Any) -> None:
        summary = load_demo_firm(today=timezone.localdate(), now=timezone.now())
        verb = "is there already" if summary.was_loaded_before else "is loaded"
        self.stdout.write(
            f"The demo firm {verb}: {summary.customers} customers, {summary.appliances} appliances, "
            f"{summary.service_events} service events."
        )
