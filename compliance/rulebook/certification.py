"""Which technician certificate covers work on which appliance (40 CFR 82.161)."""

from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from compliance.rulebook.appliance_class import RULE_608, Circuit, appliance_class
from compliance.rulebook.dates import add_years
from compliance.rulebook.errors import InvalidInput
from compliance.rulebook.tables import Tables, load_tables

# The classes have stood unchanged since certification began; any later day finds the same rows.
_ON = date(2026, 1, 1)


class CertificationType(StrEnum):
    """The four certificates of 40 CFR 82.161, and that of section 609, which covers MVAC-like appliances."""

    TYPE_I = "type_i"
    TYPE_II = "type_ii"
    TYPE_III = "type_iii"
    UNIVERSAL = "universal"
    SECTION_609 = "section_609"

    @property
    def in_words(self) -> str:
        if self is CertificationType.UNIVERSAL:
            return "Universal"
        if self is CertificationType.SECTION_609:
            return "A certificate under section 609"
        return f"Type {self.value.removeprefix('type_').upper()}"


@dataclass(frozen=True)
class Coverage:
    """Whether a certificate covers work on an appliance, with the paragraph and the reason."""

    is_covered: bool
    citation: str
    because: str


def covers(certification_type: str, circuit: Circuit, *, tables: Tables | None = None) -> Coverage:
    """Says whether a certificate covers maintenance, service and repair of an appliance.

    A small appliance needs Type I or Universal: Type II alone doesn't cover it, whatever its pressure.

    Args:
        certification_type: ``type_i``, ``type_ii``, ``type_iii``, ``universal`` or ``section_609``.
        circuit: the appliance; its pressure class decides unless it is small or like motor vehicle air conditioning.
        tables: the dated numbers; those of fixtures/rules by default.

    Raises:
        InvalidInput: an unknown certificate.

    Source: 40 CFR 82.161; classes of 40 CFR 82.152.
    """
    if certification_type not in tuple(CertificationType):
        expected = "one of " + ", ".join(CertificationType)
        raise InvalidInput("certification_type", certification_type, expected)
    tables = tables or load_tables()
    kind = appliance_class(circuit, on=_ON, tables=tables)
    row = tables.find(RULE_608, f"certification_{certification_type}", on=_ON, category=kind.name)
    does = "covers" if row else "does not cover"
    certificate = CertificationType(certification_type).in_words
    because = f"{certificate} {does} {kind.in_words}: {kind.because}."
    return Coverage(row is not None, "40 CFR 82.161", because)


def disposal_without_certificate(circuit: Circuit, *, tables: Tables | None = None) -> Coverage:
    """Says whether an appliance may be disposed of, its refrigerant recovered first, by someone without a certificate.

    Args:
        circuit: the appliance.
        tables: the dated numbers; those of fixtures/rules by default.

    Source: 40 CFR 82.161(a)(1)(vii): small appliances, MVACs and MVAC-like appliances.
    """
    tables = tables or load_tables()
    kind = appliance_class(circuit, on=_ON, tables=tables)
    row = tables.find(RULE_608, "disposal_without_certificate", on=_ON, category=kind.name)
    does = "takes no certificate" if row else "takes a certificate"
    because = f"Disposal of {kind.in_words} {does}: {kind.because}."
    return Coverage(row is not None, row.citation if row else "40 CFR 82.161", because)


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
    row = (tables or load_tables()).row(RULE_608, "apprentice_exemption", on=_ON)
    return add_years(registered_on, row.count)
