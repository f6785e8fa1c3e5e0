"""The command that runs a report and writes it into a file."""

import argparse
from datetime import date
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.utils import timezone

from compliance.management.arguments import add_by, instant, run_by
from compliance.selectors.reports.document import ReportDocument
from compliance.selectors.reports.parameters import ReportParameters, no_progress
from compliance.services.reports.catalogue import REPORTS, report_type
from compliance.services.reports.pdf import print_content
from compliance.services.reports.spreadsheets import document_xlsx, document_zip, table_csv
from jobs.models import Appliance, Customer, Site

FORMATS = "csv: one table; zip: all of them as CSV, and About, which says who ran it, when and by which rules"
SUBJECTS: dict[str, Any] = {"customer": Customer, "site": Site, "appliance": Appliance}


def _option(text: str) -> tuple[str, str]:
    name, sign, value = text.partition("=")
    if not sign:
        message = f"expected NAME=VALUE, not {text!r}"
        raise argparse.ArgumentTypeError(message)
    return name, value


class Command(BaseCommand):
    """Writes one report as PDF, XLSX, a ZIP of all its tables as CSV, or one of its tables as CSV."""

    help = "Run a report and write it into a file."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("kind", choices=[report.slug for report in REPORTS])
        parser.add_argument("--year", type=int, help="calendar year; this one unless given")
        for name in SUBJECTS:
            parser.add_argument(
                f"--{name}", type=int, metavar="ID", help=f"of this {name} alone, by its number"
            )
        parser.add_argument("--as-of", type=date.fromisoformat, help="day on which clocks are read; today")
        parser.add_argument("--known-at", type=instant, help="count only records filed by this instant; now")
        add_by(parser)
        parser.add_argument("--option", type=_option, action="append", default=[], metavar="NAME=VALUE")
        parser.add_argument("--format", choices=("pdf", "xlsx", "csv", "zip"), default="pdf", help=FORMATS)
        parser.add_argument(
            "--table", type=int, default=0, help="which table as CSV, counted from 0; the last is About"
        )
        parser.add_argument("--out", type=Path, required=True, help="the file to write")

    def handle(self, *args: Any, **options: Any) -> None:
        report = report_type(options["kind"])
        parameters = _parameters(options)
        content = report.content(parameters, no_progress)
        if options["format"] == "pdf":
            written = print_content(report, content, parameters)
        elif options["format"] == "xlsx":
            written = document_xlsx(report.document(content))
        elif options["format"] == "zip":
            written = document_zip(report.document(content))
        else:
            written = _csv(report.document(content), options["table"])
        options["out"].write_bytes(written)
        self.stdout.write(f"{options['out']}: {len(written)} bytes")


def _parameters(options: dict[str, Any]) -> ReportParameters:
    now = timezone.now()
    today = timezone.localdate(now)
    subjects = {}
    for name, model in SUBJECTS.items():
        if (pk := options[name]) is not None:
            subjects[name] = model.objects.filter(pk=pk).first()
            if subjects[name] is None:
                message = f"--{name}: {pk} was given; expected the number of a registered {name}"
                raise CommandError(message)
    return ReportParameters(
        as_of=options["as_of"] or today,
        known_at=options["known_at"] or now,
        run_by=run_by(options["by"]),
        run_at=now,
        year=options["year"] or today.year,
        options=dict(options["option"]),
        **subjects,
    )


def _csv(document: ReportDocument, number: int) -> bytes:
    tables = document.tables_and_about
    if not 0 <= number < len(tables):
        names = "; ".join(f"{place} {table.name}" for place, table in enumerate(tables))
        message = f"--table: {number} was given; expected one of {names}"
        raise CommandError(message)
    return table_csv(tables[number])
