"""Which technician certificate covers work on which appliance (40 CFR 82.161)."""

from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from compliance.rulebook.appliance_class import RULE_608, Circuit, appliance_class
from compliance.rulebook.dates import add_years
from compliance.rulebook.errors import InvalidInput
from compliance.rulebook.tables import Tables, load_tables


class Scheme(StrEnum):
    """The law under which a certificate is issued."""

    US = "us"
    EU = "eu"
    EU_FORMER = "eu_category"
    GB = "gb_category"


class CertificationType(StrEnum):
    """Types of certificates.

    Those of 40 CFR 82.161 and of section 609, which covers MVAC-like appliances; those of Implementing Regulation (EU)
    2024/2215 Art. 3(2); and the categories before them, which Great Britain keeps (Regulation (EU) 2015/2067, its
    number from memory).
    """

    TYPE_I = "type_i"
    TYPE_II = "type_ii"
    TYPE_III = "type_iii"
    UNIVERSAL = "universal"
    SECTION_609 = "section_609"
    EU_A1 = "eu_a1"
    EU_A2 = "eu_a2"
    EU_B = "eu_b"
    EU_C = "eu_c"
    EU_D = "eu_d"
    EU_E = "eu_e"
    EU_CATEGORY_I = "eu_category_i"
    EU_CATEGORY_II = "eu_category_ii"
    EU_CATEGORY_III = "eu_category_iii"
    EU_CATEGORY_IV = "eu_category_iv"
    GB_CATEGORY_I = "gb_category_i"
    GB_CATEGORY_II = "gb_category_ii"
    GB_CATEGORY_III = "gb_category_iii"
    GB_CATEGORY_IV = "gb_category_iv"

    @property
    def scheme(self) -> Scheme:
        """The law under which it is issued."""
        found = [scheme for scheme in Scheme if self.value.startswith(f"{scheme}_")]
        return max(found, key=len) if found else Scheme.US

    @property
    def in_words(self) -> str:
        if self is CertificationType.UNIVERSAL:
            return "Universal"
        if self is CertificationType.SECTION_609:
            return "A certificate under section 609"
        name = self.value.rpartition("_")[2].upper()
        if self.scheme is Scheme.US:
            return f"Type {name}"
        region = "EU" if self.scheme is not Scheme.GB else "GB"
        return f"{region} certificate {name if self.scheme is Scheme.EU else f'of category {name}'}"


# Who holds all of these may work on every class; universal stands for them (40 CFR 82.161).
EVERY_CLASS = (CertificationType.TYPE_I, CertificationType.TYPE_II, CertificationType.TYPE_III)


@dataclass(frozen=True)
class Coverage:
    """Whether a certificate covers work on an appliance, with the paragraph and the reason."""

    is_covered: bool
    citation: str
    because: str


def covers(certification_type: str, circuit: Circuit, *, on: date, tables: Tables | None = None) -> Coverage:
    """Says whether a certificate covers maintenance, service and repair of an appliance.

    A small appliance needs Type I or Universal: Type II alone doesn't cover it, whatever its pressure.

    Args:
        certification_type: a ``CertificationType``; one of another country covers nothing under this rule.
        circuit: the appliance; its pressure class decides unless it is small or like motor vehicle air conditioning.
        on: the day of the work, or of the question; of a day before certification began its first rows tell.
        tables: the dated numbers; those of fixtures/rules by default.

    Raises:
        InvalidInput: an unknown certificate.

    Source: 40 CFR 82.161; classes of 40 CFR 82.152.
    """
    if certification_type not in tuple(CertificationType):
        expected = "one of " + ", ".join(CertificationType)
        raise InvalidInput("certification_type", certification_type, expected)
    tables = tables or load_tables()
    on = _since_certification(on, tables)
    kind = appliance_class(circuit, on=on, tables=tables)
    row = tables.find(RULE_608, f"certification_{certification_type}", on=on, category=kind.name)
    does = "covers" if row else "does not cover"
    certificate = CertificationType(certification_type).in_words
    because = f"{certificate} {does} {kind.in_words}: {kind.because}."
    return Coverage(row is not None, "40 CFR 82.161", because)


def disposal_without_certificate(circuit: Circuit, *, on: date, tables: Tables | None = None) -> Coverage:
    """Says whether an appliance may be disposed of, its refrigerant recovered first, by someone without a certificate.

    Args:
        circuit: the appliance.
        on: the day of the disposal.
        tables: the dated numbers; those of fixtures/rules by default.

    Source: 40 CFR 82.161(a)(1)(vii): small appliances, MVACs and MVAC-like appliances.
    """
    tables = tables or load_tables()
    on = _since_certification(on, tables)
    kind = appliance_class(circuit, on=on, tables=tables)
    row = tables.find(RULE_608, "disposal_without_certificate", on=on, category=kind.name)
    does = "takes no certificate" if row else "takes a certificate"
    because = f"Disposal of {kind.in_words} {does}: {kind.because}."
    return Coverage(row is not None, row.citation if row else "40 CFR 82.161", because)


def apprentice_exemption_ends_on(registered_on: date, tables: Tables | None = None) -> date:
    """The last day on which a registered apprentice may work uncertified, under a certified supervisor.

    The exemption is as long as the law had it on the day of registration.

    Args:
        registered_on: first registration as an apprentice.
        tables: the dated numbers; those of fixtures/rules by default.

    Source: 40 CFR 82.161(a), apprentices; us-federal-608 ``apprentice_exemption``.

    Example:
        >>> apprentice_exemption_ends_on(date(2024, 2, 29))
        datetime.date(2026, 2, 28)
    """
    tables = tables or load_tables()
    row = tables.row(RULE_608, "apprentice_exemption", on=_since_certification(registered_on, tables))
    return add_years(registered_on, row.count)


def _since_certification(on: date, tables: Tables) -> date:
    """The day whose rows count: the first of certification for whatever comes before it."""
    return max(on, tables.first_day(RULE_608, "certification_universal"))
