"""What was changed in a register's row, by whom and when, in words."""

import datetime
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Any

from compliance.rulebook.masses import format_mass

# A mass stands in three columns; the one in milligrams tells the change.
TYPED_PARTS = ("_entered", "_unit")
NEWEST = 20


@dataclass(frozen=True)
class FieldChange:
    """One field's value before and after."""

    label: str
    before: str
    after: str


@dataclass(frozen=True)
class Change:
    """One save of a row; ``what`` is “Registered” or “Changed”."""

    what: str
    at: datetime.datetime
    by: str
    fields: tuple[FieldChange, ...]


def register_history(row: Any, known_at: datetime.datetime | None = None) -> list[Change]:
    """Tell the newest changes of a register's row, newest first; saves that changed nothing are left out.

    Args:
        row: of a register that keeps its history.
        known_at: changes made later don't count; now unless given.
    """
    saved = row.history.select_related("history_user").order_by("-history_date", "-history_id")
    if known_at is not None:
        saved = saved.filter(history_date__lte=known_at)
    records = list(saved[: NEWEST + 1])
    changes = []
    for position, record in enumerate(records[:NEWEST]):
        former = records[position + 1] if position + 1 < len(records) else None
        fields = tuple(_field_changes(record, former)) if former else ()
        if fields or record.history_type == "+":
            changes.append(
                Change(
                    what="Registered" if record.history_type == "+" else "Changed",
                    at=record.history_date,
                    by=str(record.history_user or "the portal"),
                    fields=fields,
                )
            )
    return changes


def _field_changes(record: Any, former: Any) -> Iterator[FieldChange]:
    for field in record.tracked_fields:
        if field.name.endswith(TYPED_PARTS):
            continue
        before, after = getattr(former, field.attname), getattr(record, field.attname)
        if before != after:
            yield FieldChange(_label(field), _in_words(former, field), _in_words(record, field))


def _label(field: Any) -> str:
    label = str(field.verbose_name)
    return label[:1].upper() + label[1:]


def _in_words(record: Any, field: Any) -> str:
    value = getattr(record, field.attname)
    if value in (None, ""):
        return "nothing"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if field.name.endswith("_mg"):
        return format_mass(value)
    if field.is_relation:
        return str(getattr(record, field.name))
    return str(getattr(record, f"get_{field.name}_display")() if field.choices else value)


def as_known(model: type[Any], known_at: datetime.datetime, ids: Iterable[int] | None = None) -> list[Any]:
    """The rows of a register as they stood at an instant, of those that were in it by then.

    Args:
        model: a register, such as Cylinder.
        known_at: changes made later don't count.
        ids: of these rows alone; of all unless given.
    """
    history = model.history.filter(history_date__lte=known_at)
    if ids is not None:
        history = history.filter(id__in=ids)
    # Later ones take the place of earlier ones.
    newest = {row.id: row for row in history.order_by("history_date", "history_id")}
    return [row.instance for row in newest.values() if row.history_type != "-"]
