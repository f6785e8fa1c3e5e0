"""manage.py load_demo_firm: the invented firm with three years of records, made relative to today."""

from typing import Any

from django.core.management.base import BaseCommand
from django.utils import timezone

from portal.demo.firm import read_firm
from portal.demo.load import load_demo_firm


class Command(BaseCommand):
    """Loads the demo firm once; running it again changes nothing."""

    help = "Load the demo firm (once) and print its sign-ins."

    def handle(self, *args: Any, **options: Any) -> None:
        today = timezone.localdate()
        summary = load_demo_firm(today=today, now=timezone.now())
        verb = "is there already" if summary.was_loaded_before else "is loaded"
        self.stdout.write(
            f"The demo firm {verb}: {summary.customers} customers, {summary.appliances} appliances, "
            f"{summary.service_events} service events."
        )
        firm = read_firm(today)
        seen: set[str] = set()
        for user in firm.data["users"]:
            if user["role"] not in seen:
                seen.add(user["role"])
                self.stdout.write(f"  {user['role'].replace('_', ' ')}: {user['email']}  {firm.password}")
