"""What European and British law asks of recovered refrigerant: who recovers it, where it goes, what it may fill."""

from datetime import date

from compliance.rulebook.jurisdictions.gases import is_fluorinated
from compliance.rulebook.refrigerants import Refrigerant
from compliance.rulebook.rules import EU, UK
from compliance.rulebook.tables import Row, Tables, load_tables

# What is said of an appliance that was retired or disposed of, between its day and the paragraphs.
UNRECOVERED = (
    "and no recovery of what it held is on record. If nothing was left in it, its record should say so."
)

_RULES = (EU, UK)
_DUTIES = ("recovery", "use_of_recovered", "recovery_at_decommissioning", "decommissioning_record")
_AT_DECOMMISSIONING = ("recovery_at_decommissioning", "decommissioning_record")


def recovery_duties(
    rule: str, refrigerant: Refrigerant, *, on: date, tables: Tables | None = None
) -> tuple[Row, ...]:
    """The paragraphs on recovered refrigerant in force on a day, each as a row whose value is a sentence.

    Args:
        rule: the rule set of the site; none but ``eu`` and ``uk`` has such rows.
        refrigerant: what is recovered; without a fluorinated greenhouse gas in it there is no duty.
        on: the day of the work.
        tables: the law's rows; those of fixtures/rules by default.

    Source: Regulation (EU) 2024/573 Art. 7(1)(g), 8(1), (2), (6), 10(1);
        Regulation (EU) No 517/2014 Art. 6(1)(g), 8(1).
    """
    return _rows(rule, _DUTIES, refrigerant, on, tables)


def use_of_recovered(
    rule: str, refrigerant: Refrigerant, *, on: date, tables: Tables | None = None
) -> Row | None:
    """The paragraph that bars recovered refrigerant from appliances unless it was recycled or reclaimed, if any.

    Args:
        rule: the rule set of the site.
        refrigerant: what would be put in.
        on: the day.
        tables: the law's rows; those of fixtures/rules by default.

    Source: Regulation (EU) 2024/573 Art. 8(6).
    """
    return next(iter(_rows(rule, ("use_of_recovered",), refrigerant, on, tables)), None)


def container_disposal(
    rule: str, refrigerant: Refrigerant, *, on: date, tables: Tables | None = None
) -> Row | None:
    """The paragraph by which residual gas is recovered from a container before it is disposed of, if any.

    Args:
        rule: the rule set of the site.
        refrigerant: what the container held.
        on: the day on which it is disposed of.
        tables: the law's rows; those of fixtures/rules by default.

    Source: Regulation (EU) 2024/573 Art. 8(7).
    """
    return next(iter(_rows(rule, ("container_disposal",), refrigerant, on, tables)), None)


def decommissioned_unrecovered(
    rule: str, refrigerant: Refrigerant, *, on: date, tables: Tables | None = None
) -> tuple[Row, ...]:
    """The paragraphs that an appliance decommissioned without a recovery on record is to be held against.

    Args:
        rule: the rule set of the site.
        refrigerant: what the appliance held.
        on: the day it was decommissioned.
        tables: the law's rows; those of fixtures/rules by default.

    Source: Regulation (EU) 2024/573 Art. 7(1)(g), 8(1), (2); Regulation (EU) No 517/2014 Art. 6(1)(g), 8(1).
    """
    return _rows(rule, _AT_DECOMMISSIONING, refrigerant, on, tables)


def _rows(
    rule: str, keys: tuple[str, ...], refrigerant: Refrigerant, on: date, tables: Tables | None
) -> tuple[Row, ...]:
    tables = tables or load_tables()
    if rule not in _RULES or not is_fluorinated(rule, refrigerant, tables, on):
        return ()
    return tuple(row for key in keys if (row := tables.find(rule, key, on=on)) is not None)
