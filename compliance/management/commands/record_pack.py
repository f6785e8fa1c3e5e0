"""The command that makes a record pack here and now, without a worker."""

import datetime
import tempfile
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.utils import timezone

from compliance.management.arguments import add_by, instant, run_by
from compliance.rulebook.dates import EARLIEST_ON
from compliance.selectors.pack_contents import PackScope
from compliance.selectors.reports.parameters import no_progress
from compliance.services.packs.building import pack_build
from jobs.models import Appliance, Customer, Site

SUBJECTS: dict[str, type[Appliance | Site | Customer]] = {
    "appliance": Appliance,
    "site": Site,
    "customer": Customer,
}


class Command(BaseCommand):
    help = "Make a record pack of an appliance, a site or a customer."

    def add_arguments(self, parser: CommandParser) -> None:
        subject = parser.add_mutually_exclusive_group(required=True)
        for name in SUBJECTS:
            subject.add_argument(
                f"--{name}", type=int, metavar="PK", help=f"its number in the {name} register"
            )
        day = datetime.date.fromisoformat
        parser.add_argument(
            "--from", dest="first", type=day, default=EARLIEST_ON, help="visits from this day on"
        )
        parser.add_argument("--to", dest="last", type=day, help="visits up to this day; today unless given")
        parser.add_argument("--known-at", type=instant, help="count only records filed by this instant; now")
        add_by(parser)
        parser.add_argument("--out", type=Path, required=True, help="the ZIP to write")

    def handle(self, *args: Any, **options: Any) -> None:
        last = options["last"] or timezone.localdate()
        if options["first"] > last:
            raise CommandError(f"--from {options['first']} is after --to {last}.")
        if not options["out"].parent.is_dir():
            raise CommandError(f"--out {options['out']}: there is no folder {options['out'].parent}.")
        name = next(name for name in SUBJECTS if options[name] is not None)
        subject = SUBJECTS[name].objects.filter(pk=options[name]).first()
        if subject is None:
            raise CommandError(f"--{name} {options[name]}: there is none of that number.")
        whose: dict[str, Any] = {name: subject}
        now = timezone.now()
        known_at, asked_by = options["known_at"] or now, run_by(options["by"])
        scope = PackScope(options["first"], last, known_at, asked_by, now, **whose)
        with tempfile.TemporaryDirectory() as folder:
            built = pack_build(scope, Path(folder), options["out"], no_progress)
        self.stdout.write(f"{built.path}\nSHA-256 of manifest.json: {built.manifest_sha256}")
