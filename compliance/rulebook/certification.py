"""Which technician certificate covers work on which appliance (40 CFR 82.161)."""

from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from compliance.rulebook import policy
from compliance.rulebook.dates import add_years
from compliance.rulebook.errors import InvalidInput
from compliance.rulebook.masses import format_mass
from compliance.rulebook.refrigerants import Refrigerant
from compliance.rulebook.tables import Tables, load_tables

_RULE = "us-federal-608"
# The classes have stood unchanged since certification began; any later day finds the same rows.
_ON = date(2026, 1, 1)

_CLASS_IN_WORDS = {
    "small_appliance": "a small appliance",
    "mvac_like": "an appliance like motor vehicle air conditioning",
    "low": "a low-pressure appliance",
    "medium": "a medium-pressure appliance",
    "high": "a high-pressure appliance",
    "very_high": "a very-high-pressure appliance",
}


class CertificationType(StrEnum):
    """The four certificates of 40 CFR 82.161."""

    TYPE_I = "type_i"
    TYPE_II = "type_ii"
    TYPE_III = "type_iii"
    UNIVERSAL = "universal"

    @property
    def in_words(self) -> str:
        return (
            "Universal"
            if self is CertificationType.UNIVERSAL
            else f"Type {self.value.removeprefix('type_').upper()}"
        )


@dataclass(frozen=True)
class Coverage:
    """Whether a certificate covers work on an appliance, with the paragraph and the reason."""

    is_covered: bool
    citation: str
    because: str


def covers(
    certification_type: str,
    *,
    refrigerant: Refrigerant,
    full_charge_mg: int,
    is_hermetically_sealed: bool,
    is_mvac_like: bool = False,
    tables: Tables | None = None,
) -> Coverage:
    """Says whether a certificate covers maintenance, service and repair of an appliance.

    A small appliance needs Type I or Universal: Type II alone doesn't cover it, whatever its pressure.

    Args:
        certification_type: ``type_i``, ``type_ii``, ``type_iii`` or ``universal``.
        refrigerant: its pressure class decides unless the appliance is small or like motor vehicle air conditioning.
        full_charge_mg: full charge in milligrams.
        is_hermetically_sealed: made, charged and sealed in a factory.
        is_mvac_like: open-drive cab cooling of an off-road vehicle.
        tables: the dated numbers; those of fixtures/rules by default.

    Raises:
        InvalidInput: an unknown certificate.

    Source: 40 CFR 82.161; classes of 40 CFR 82.152.
    """
    if certification_type not in tuple(CertificationType):
        expected = "one of " + ", ".join(CertificationType)
        raise InvalidInput("certification_type", certification_type, expected)
    tables = tables or load_tables()
    appliance_class, reason = _class(
        refrigerant,
        full_charge_mg,
        tables,
        is_hermetically_sealed=is_hermetically_sealed,
        is_mvac_like=is_mvac_like,
    )
    key = f"certification_{certification_type}"
    row = tables.find(_RULE, key, on=_ON, category=appliance_class)
    does = "covers" if row else "does not cover"
    certificate = CertificationType(certification_type).in_words
    because = f"{certificate} {does} {_CLASS_IN_WORDS[appliance_class]}: {reason}."
    return Coverage(row is not None, "40 CFR 82.161", because)


def apprentice_exemption_ends_on(registered_on: date, tables: Tables | None = None) -> date:
    """The last day on which a registered apprentice may work uncertified, under a certified supervisor.

    Args:
        registered_on: first registration as an apprentice.
        tables: the dated numbers; those of fixtures/rules by default.

    Source: 40 CFR 82.161(a), apprentices; us-federal-608 ``apprentice_exemption``.

    Example:
        >>> apprentice_exemption_ends_on(date(2024, 2, 29))
        datetime.date(2026, 2, 28)
    """
    row = (tables or load_tables()).row(_RULE, "apprentice_exemption", on=_ON)
    return add_years(registered_on, row.count)


def _class(
    refrigerant: Refrigerant,
    full_charge_mg: int,
    tables: Tables,
    *,
    is_hermetically_sealed: bool,
    is_mvac_like: bool,
) -> tuple[str, str]:
    """The class of appliance that decides, and why."""
    resolution_mg = policy.RESOLUTION.value
    charge = format_mass(full_charge_mg)
    mvac = tables.row(_RULE, "mvac_like_charge", on=_ON)
    is_excluded = (
        tables.find(_RULE, "mvac_like_excludes", on=_ON, category=refrigerant.designation) is not None
    )
    if is_mvac_like and full_charge_mg - resolution_mg <= mvac.exact_mg and not is_excluded:
        return "mvac_like", f"cab cooling with {charge}, at most {mvac.in_words}"
    small = tables.row(_RULE, "small_appliance_charge", on=_ON)
    if is_hermetically_sealed and full_charge_mg - resolution_mg <= small.exact_mg:
        return "small_appliance", f"hermetically sealed, {charge}, at most {small.in_words}"
    pressure = refrigerant.pressure_class.replace("_", "-")
    reason = f"{refrigerant} is a {pressure}-pressure refrigerant"
    if not refrigerant.is_pressure_class_confirmed:
        reason += " (reckoned from its saturation pressure at 104 °F, not named in 40 CFR 82.152)"
    return refrigerant.pressure_class, reason
