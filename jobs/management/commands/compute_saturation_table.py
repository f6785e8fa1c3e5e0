"""``manage.py compute_saturation_table``: computes ``fixtures/physics/saturation.csv`` anew with CoolProp."""

from typing import Any

from django.core.management.base import BaseCommand

from jobs.physics.table_computation import write_table


class Command(BaseCommand):
    help = "Computes the table of saturated states anew; run it after CoolProp or fluids.csv has changed."
    requires_system_checks: list[str] = []

    def handle(self, *args: Any, **options: Any) -> None:
        self.stdout.write(f"{write_table()} states written.")
