"""Commands that answer with one JSON document, and refuse with one JSON object."""

import io
import json
import sys
from abc import abstractmethod
from collections.abc import Mapping
from typing import Any

from django.core.management.base import BaseCommand, CommandParser

from compliance.rulebook import errors as rulebook_errors
from jobs.physics import errors as physics_errors
from jobs.weighing import InvalidLog

_BAD_INPUT_EXIT = 2


class JsonCommand(BaseCommand):
    """Prints what ``answer`` returns; bad input goes to standard error as one object, with exit status 2.

    No database is touched, so no checks of the models are run.
    """

    requires_system_checks: list[str] = []

    @abstractmethod
    def answer(self, options: Mapping[str, Any]) -> Mapping[str, Any]:
        """The answer as plain objects. Raises InvalidInput."""

    def create_parser(self, prog_name: str, subcommand: str, **kwargs: Any) -> CommandParser:
        parser = super().create_parser(prog_name, subcommand, **kwargs)
        parser.error = self._refuse_arguments  # type: ignore[method-assign]
        return parser

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            answer = self.answer(options)
        except (physics_errors.InvalidInput, rulebook_errors.InvalidInput, InvalidLog) as error:
            self._refuse(error.field, error.value, error.expected)
        if isinstance(sys.stdout, io.TextIOWrapper):
            sys.stdout.reconfigure(encoding="utf-8")
        self.stdout.write(json.dumps(answer, ensure_ascii=False, indent=2, default=float))

    def _refuse_arguments(self, message: str) -> Any:
        self._refuse("arguments", sys.argv[2:], f"the options that --help lists ({message})")

    def _refuse(self, field: str, value: Any, expected: str) -> Any:
        document = {"error": {"field": field, "value": value, "expected": expected}}
        self.stderr.write(json.dumps(document, default=str), style_func=str)
        sys.exit(_BAD_INPUT_EXIT)
