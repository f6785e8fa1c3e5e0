"""Which certificate of the European Union or of Great Britain covers which work on which appliance."""

from collections.abc import Collection
from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from compliance.rulebook import policy
from compliance.rulebook.appliance_class import Circuit
from compliance.rulebook.certification import CertificationType
from compliance.rulebook.dates import add_months
from compliance.rulebook.jurisdictions.gases import is_fluorinated
from compliance.rulebook.masses import format_mass
from compliance.rulebook.refrigerants import Refrigerant
from compliance.rulebook.rules import EU, UK
from compliance.rulebook.tables import Row, Tables, load_tables

FLUORINATED, HYDROCARBONS = "fluorinated gases", "hydrocarbons"
_RULES = {EU: "eu-certification", UK: "uk-certification"}
_REQUIRED = "certificate_required"
_HYDROCARBONS = frozenset({"R-290", "R-600", "R-600a", "R-1270"})
_GASES = {"R-744": "carbon dioxide", "R-717": "ammonia"}


class Activity(StrEnum):
    """What is done to an appliance, as certificates tell it apart; values are the tables' words."""

    WORK = "work"
    RECOVERY = "recovery"
    LEAK_CHECK = "leak checks"


@dataclass(frozen=True)
class Job:
    """Work on one appliance on a day; ``rule`` is the rule set of its site."""

    rule: str
    circuit: Circuit
    activity: Activity
    on: date


@dataclass(frozen=True)
class Shortfall:
    """Why nobody's certificate covers a job; ``is_binding`` where every number it rests on was read in the law."""

    because: str
    citation: str
    is_binding: bool


def certificate_shortfall(
    job: Job, held: Collection[str], *, tables: Tables | None = None
) -> Shortfall | None:
    """Say why none of a person's certificates covers a job; None if one does, or if the job takes none.

    Cab cooling takes a training attestation alone. Refrigerant that depletes the ozone layer has regulations of its
    own, which aren't in the tables.

    Args:
        job: the work; of other rule sets than ``eu`` and ``uk`` nothing is asked here.
        held: types of the certificates that the person holds on the day.
        tables: the dated numbers; those of fixtures/rules by default.

    Source: Regulation (EU) 2024/573 Art. 5(3)(c), 10(1); Implementing Regulation (EU) 2024/2215 Art. 3(2); and, from
        memory, Implementing Regulation (EU) 2015/2067 Art. 3(2) and Regulation (EU) No 517/2014 Art. 10.
    """
    tables = tables or load_tables()
    required = None if job.circuit.is_mvac_like else _required(job, tables)
    if required is None:
        return None
    answers = [_lacks(job, CertificationType(kind), tables) for kind in held]
    if None in answers:
        return None
    lacking = [answer for answer in answers if answer is not None]
    if not lacking:
        return Shortfall(required.value, required.citation, is_binding=required.is_confirmed)
    return Shortfall(
        " ".join(because for because, _ in lacking),
        "; ".join(dict.fromkeys([*(row.citation for _, row in lacking if row), required.citation])),
        is_binding=required.is_confirmed and all(row is None or row.is_confirmed for _, row in lacking),
    )


def trainee_period_ends_on(enrolled_on: date, tables: Tables | None = None) -> date:
    """The last day on which a trainee may do the work uncertified, supervised by someone certified for it.

    Args:
        enrolled_on: the day of enrolment in the course.
        tables: the dated numbers; those of fixtures/rules by default.

    Source: Implementing Regulation (EU) 2024/2215 Art. 3(4); eu-certification ``trainee``.

    Example:
        >>> trainee_period_ends_on(date(2025, 3, 10))
        datetime.date(2027, 3, 10)
    """
    tables = tables or load_tables()
    row = next(row for row in tables.rows if (row.rule, row.key) == (_RULES[EU], "trainee"))
    return add_months(enrolled_on, row.count)


def _required(job: Job, tables: Tables) -> Row | None:
    rule, gases = _RULES.get(job.rule), _gases_of(job.circuit.refrigerant, job, tables)
    if rule is None or gases is None:
        return None
    key = _REQUIRED if gases == FLUORINATED else f"{_REQUIRED}_alternatives"
    return tables.find(rule, key, on=job.on)


def _gases_of(refrigerant: Refrigerant, job: Job, tables: Tables) -> str | None:
    if is_fluorinated(job.rule, refrigerant, tables, job.on):
        return FLUORINATED
    if all(component in _HYDROCARBONS for component, _ in refrigerant.composition):
        return HYDROCARBONS
    return _GASES.get(refrigerant.designation)


def _lacks(job: Job, kind: CertificationType, tables: Tables) -> tuple[str, Row | None] | None:
    """Why a certificate doesn't cover a job, with the row it rests on; None if it covers it."""
    rule, circuit = _RULES[job.rule], job.circuit

    def find(key: str) -> Row | None:
        return tables.find(rule, key, on=job.on, category=kind)

    activities, gases = find("certificate_activities"), find("certificate_gases")
    if activities is None:
        return f"{kind.in_words} covers nothing under this law.", None
    if job.activity not in activities.value.split(", "):
        return f"{kind.in_words} covers {activities.value} alone{_marked(activities)}.", activities
    if gases is not None and _gases_of(circuit.refrigerant, job, tables) not in gases.value.split(", "):
        because = f"{kind.in_words} covers {gases.value}{_marked(gases)}; this is {circuit.refrigerant}."
        return because, gases
    if job.activity == Activity.LEAK_CHECK and find("certificate_leak_checks"):
        return None
    bound = find("certificate_charge_sealed" if circuit.is_hermetically_sealed else "certificate_charge")
    if bound is None or circuit.full_charge_mg + policy.RESOLUTION.value <= bound.exact_mg:
        return None
    sealed = " hermetically sealed" if circuit.is_hermetically_sealed else ""
    because = (
        f"{kind.in_words} covers a charge below {bound.in_words}{sealed}{_marked(bound)}; this one is "
        f"{format_mass(circuit.full_charge_mg, 'kg')}."
    )
    return because, bound


def _marked(row: Row) -> str:
    return "" if row.is_confirmed else " (from memory)"
