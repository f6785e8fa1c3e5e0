"""``manage.py assess FILE``: what the law makes of one appliance's records, as JSON. No database is touched."""

import io
import sys
from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand

from compliance.rulebook.answer import answer_json, error_json
from compliance.rulebook.assess import assess
from compliance.rulebook.errors import InvalidInput
from compliance.rulebook.parse import parse_text


class Command(BaseCommand):
    help = "Says what the law makes of one appliance's records: leak rates, obligations, headroom (JSON in, JSON out)."
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("file", nargs="?", help="a JSON document, or - for standard input")

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            request = parse_text(_read(options["file"]))
            assessment = assess(request.appliance, request.facts, as_of=request.as_of, rules=request.rules)
        except InvalidInput as error:
            self.stderr.write(error_json(error), style_func=str)
            sys.exit(2)
        if isinstance(sys.stdout, io.TextIOWrapper):
            sys.stdout.reconfigure(encoding="utf-8")
        self.stdout.write(answer_json(assessment))


def _read(name: str | None) -> str:
    if name is None:
        raise InvalidInput("file", None, "the name of a JSON document, or - for standard input")
    try:
        return (sys.stdin.buffer.read() if name == "-" else Path(name).read_bytes()).decode("utf-8-sig")
    except OSError as error:
        raise InvalidInput("file", name, f"a file that can be read ({error.strerror})") from None
    except UnicodeDecodeError:
        raise InvalidInput("file", name, "a file in UTF-8") from None
