"""Collects what is wrong with a submission, so that a person sees all of it at once."""

import datetime
from typing import Any

from django.core.exceptions import NON_FIELD_ERRORS, ValidationError
from django.db import models

from compliance.rulebook.dates import EARLIEST_ON
from compliance.rulebook.errors import InvalidInput
from compliance.rulebook.refrigerants import find
from jobs.errors import Refusal, SubmissionRefused
from portal.accounts.models import User


class Refusals:
    """A list of refusals that grows while a submission is checked."""

    def __init__(self) -> None:
        self.found: list[Refusal] = []

    def add(self, field: str, value: Any, expected: str, citation: str = "") -> None:
        """Note one thing wrong."""
        self.found.append(Refusal(field, value, expected, citation))

    def add_invalid(
        self, problem: ValidationError, row: Any, *, prefix: str = "", names: dict[str, str] | None = None
    ) -> None:
        """Note what a model's own validation found in ``row``, under the form's names of the fields."""
        messages = (
            problem.message_dict if hasattr(problem, "error_dict") else {NON_FIELD_ERRORS: problem.messages}
        )
        for name, texts in messages.items():
            shown = (names or {}).get(name, "" if name == NON_FIELD_ERRORS else name)
            value = getattr(row, shown if name == NON_FIELD_ERRORS else name, None)
            for text in texts:
                self.add(f"{prefix}{shown}", value, text)

    def check_day(
        self,
        field: str,
        day: datetime.date | None,
        *,
        latest: datetime.date,
        earliest: datetime.date = EARLIEST_ON,
    ) -> None:
        """Note a day in the future, or one so long ago that it is a typing error; None is nothing to note.

        Args:
            field: the form's name of it.
            day: as typed.
            latest: today where it counts: at the site, or at the firm.
            earliest: the first day that it may be; the rulebook's first unless given.
        """
        if day is not None and not earliest <= day <= latest:
            self.add(field, day, f"Expected a date from {earliest} to {latest}.")

    def check_fields(
        self, row: models.Model, *, prefix: str = "", names: dict[str, str] | None = None
    ) -> None:
        """Check an unsaved row's plain fields; its relations are ours and the database's to keep."""
        relations = [field.name for field in row._meta.concrete_fields if field.is_relation]  # noqa: SLF001
        try:
            row.clean_fields(exclude=relations)
        except ValidationError as problem:
            self.add_invalid(problem, row, prefix=prefix, names=names)

    def raise_any(self) -> None:
        """Refuse the submission if anything was noted.

        Raises:
            SubmissionRefused: with all that was noted.
        """
        if self.found:
            raise SubmissionRefused(self.found)


def known_designation(refusals: Refusals, field: str, designation: str) -> str:
    """Return the refrigerant's designation as ASHRAE 34 writes it; note a refusal if it is in no table."""
    try:
        return find(designation).designation
    except InvalidInput as problem:
        refusals.add(field, designation, f"Expected {problem.expected}.")
        return designation


def save_register(
    row: models.Model, *, by: User, names: dict[str, str] | None = None, refusals: Refusals | None = None
) -> None:
    """Check a register's row as a whole and save it, with ``by`` in its history.

    Args:
        row: the row, as it should become.
        by: who registers or changes it.
        names: the form's names of fields that it names otherwise; under NON_FIELD_ERRORS, the field that the row's
            own rules, such as uniqueness within its parent, are about.
        refusals: what was found wrong before; it is refused together with what the model finds.

    Raises:
        SubmissionRefused: the row breaks a rule of its model, or something was found wrong before.
    """
    names, refusals = names or {}, refusals or Refusals()
    refused = {refusal.field for refusal in refusals.found}
    columns = [field.name for field in row._meta.concrete_fields]  # noqa: SLF001
    try:
        row.full_clean(exclude={name for name in columns if names.get(name, name) in refused})
    except ValidationError as problem:
        refusals.add_invalid(problem, row, names=names)
    refusals.raise_any()
    # simple_history takes it from here where no request is at hand.
    row._history_user = by  # type: ignore[attr-defined]  # noqa: SLF001
    row.save()


def change_fields(row: models.Model, fields: dict[str, Any], allowed: frozenset[str]) -> None:
    """Set the given fields of a register's row.

    Raises:
        TypeError: a field that the register doesn't let change; a programmer's mistake.
    """
    for name, value in fields.items():
        if name not in allowed:
            message = f"{type(row).__name__} has no changeable field {name!r}"
            raise TypeError(message)
        setattr(row, name, value)
