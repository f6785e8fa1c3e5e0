"""``manage.py unconfirmed``: every number that rests on memory, a secondary source or an interpretation."""

import json
from argparse import ArgumentParser
from dataclasses import asdict
from typing import Any

from django.core.management.base import BaseCommand

from compliance.rulebook.tables import load_tables
from compliance.rulebook.unconfirmed import Unconfirmed, unconfirmed
from compliance.selectors.fill_tables import unconfirmed_filling

COLUMNS = ("rule", "key", "applies_to", "value", "citation", "status")


class Command(BaseCommand):
    help = (
        "Lists every number of the law or of filling, and every property of a refrigerant, that wasn't read in its "
        "source."
    )
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--json", action="store_true", help="as a JSON array")

    def handle(self, *args: Any, **options: Any) -> None:
        found = [*unconfirmed(load_tables()), *unconfirmed_filling()]
        if options["json"]:
            self.stdout.write(json.dumps([_as_object(one) for one in found], ensure_ascii=False, indent=2))
        else:
            self.stdout.write(_table(found))


def _as_object(one: Unconfirmed) -> dict[str, str]:
    return {**asdict(one), "status_in_words": one.status_in_words}


def _table(found: list[Unconfirmed]) -> str:
    """Columns as wide as their widest cell, the note last; then how many there are of each status."""
    cells = [[getattr(one, column) for column in COLUMNS] for one in found]
    heads = [column.replace("_", " ") for column in COLUMNS]
    widths = [max(len(row[place]) for row in [heads, *cells]) for place in range(len(COLUMNS))]
    notes = ["note", *(one.note for one in found)]
    lines = [
        "  ".join([*(cell.ljust(width) for cell, width in zip(row, widths, strict=True)), note]).rstrip()
        for row, note in zip([heads, *cells], notes, strict=True)
    ]
    counts = {one.status_in_words: 0 for one in found}
    for one in found:
        counts[one.status_in_words] += 1
    totals = [f"{count} {words}" for words, count in counts.items()]
    return "\n".join([*lines, "", *totals])
