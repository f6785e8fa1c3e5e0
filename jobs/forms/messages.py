"""What a form says of a value that it can't take: the value given, and what is expected."""

from typing import Any

from django import forms
from django.core.exceptions import NON_FIELD_ERRORS, ValidationError
from django.utils.functional import Promise

from jobs.forms.masses import MassField

VALUE_LENGTH_MAX = 80

# The first that a field is an instance of.
KINDS: tuple[tuple[type[forms.Field], str], ...] = (
    (MassField, "a mass above zero"),
    (forms.DateField, "a date such as 2026-03-02"),
    (forms.EmailField, "an e-mail address such as office@example.org"),
    (forms.DecimalField, "a number"),
    (forms.IntegerField, "a whole number"),
    (forms.MultipleChoiceField, "one or more of the choices offered"),
    (forms.ChoiceField, "one of the choices offered"),
    (forms.ModelChoiceField, "one of the choices offered"),
)
SOMETHING = "an entry"

# By Django's code of an error; what isn't here is expected as its kind says.
LIMITS = {
    "max_length": "at most {limit_value} characters",
    "min_length": "at least {limit_value} characters",
    "min_value": "{kind}, {limit_value} or more",
    "max_value": "{kind}, {limit_value} or less",
    "max_digits": "at most {max} digits",
    "max_decimal_places": "at most {max} decimals",
    "max_whole_digits": "at most {max} digits before the decimal point",
    "null_characters_not_allowed": "text without null characters",
    "surrogate_characters_not_allowed": "text of whole characters",
}


class NamedValues(forms.BaseForm):
    """A form whose errors name the value given and what is expected; its own messages stay as they are."""

    def add_error(self, field: str | None, error: Any) -> None:
        """Note an error, Django's own ones in other words."""
        if field is not None and isinstance(error, ValidationError) and not hasattr(error, "error_dict"):
            error = ValidationError([self._reworded(field, one) for one in error.error_list])
        super().add_error(field, error)

    def _reworded(self, name: str, error: ValidationError) -> ValidationError:
        # Django's own messages are lazy translations; ours are plain text.
        if not isinstance(error.message, Promise) or name == NON_FIELD_ERRORS:
            return error
        expected = expectation(self.fields[name], error)
        is_missing = error.code == "required"
        given = "" if is_missing else (error.params or {}).get("value", self[name].data)
        message = f"Expected {expected}. You gave {shown_value(given)}."
        return ValidationError(message, code=error.code)


def expectation(field: forms.Field, error: ValidationError) -> str:
    """What would have been right, in words that follow “Expected”."""
    kind = next((words for type_, words in KINDS if isinstance(field, type_)), SOMETHING)
    return LIMITS.get(error.code or "", "{kind}").format(kind=kind, **(error.params or {}))


def shown_value(value: Any) -> str:
    """A value as a person typed it, in quotation marks; what can't be shown is replaced, what is long is cut."""
    text = (
        ", ".join(map(str, value)) if isinstance(value, list | tuple) else str("" if value is None else value)
    )
    if not text.strip():
        return "nothing"
    seen = "".join(
        character if character.isprintable() else "\N{REPLACEMENT CHARACTER}" for character in text
    )
    is_long = len(seen) > VALUE_LENGTH_MAX
    return f"“{seen[:VALUE_LENGTH_MAX]}{'…' if is_long else ''}”"
