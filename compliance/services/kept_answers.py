"""What is stored of the rulebook's answers, and how it is written for many appliances at once.

A hash of all that is stored of an answer stands beside it: where it is the same, no row need be read or written.
"""

import datetime
import hashlib
import json
from collections import Counter
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from django.db import connection

from compliance.models import ApplianceAssessment, LeakRate, Obligation, ObligationAssignment
from compliance.rulebook import results
from compliance.rulebook.version import RULEBOOK_VERSION
from jobs.selectors.among import AmongIds

_Rows = dict[tuple[int, Any], dict[str, Any]]


@dataclass(frozen=True)
class KeptAnswer:
    """One appliance's answer as columns: its assessment, its leak rates by place, its obligations by key."""

    appliance_id: int
    assessment: dict[str, Any]
    rates: dict[int, dict[str, Any]]
    obligations: dict[str, dict[str, Any]]


@dataclass(frozen=True)
class RecordIds:
    """The ids of service events and of case filings by their reference, by which an answer names them."""

    events: Mapping[str, int]
    filings: Mapping[str, int]


def kept_answer(
    appliance_id: int,
    answer: results.Assessment,
    record_ids: RecordIds,
    *,
    assessed_at: datetime.datetime,
) -> KeptAnswer:
    """What is stored of an answer.

    Args:
        appliance_id: whose answer it is.
        answer: the rulebook's.
        record_ids: of what the answer was made of.
        assessed_at: the instant that counts as now.
    """
    applies = [_verdict(verdict) for verdict in answer.applies]
    rates = dict(enumerate(_rate(rate, record_ids) for rate in answer.leak_rates))
    keys = obligation_keys(appliance_id, answer.obligations)
    owed = (_obligation(row, record_ids) for row in answer.obligations)
    obligations = dict(zip(keys, owed, strict=True))
    contents = [applies, answer.warnings, list(rates.items()), list(obligations.items())]
    assessment = {
        "as_of": answer.as_of,
        "holds_until": answer.holds_until,
        "rulebook_version": RULEBOOK_VERSION,
        "tables_version": answer.tables_version,
        "applies": applies,
        "warnings": list(answer.warnings),
        "answer_sha256": hashlib.sha256(json.dumps(contents, default=str).encode()).hexdigest(),
        "assessed_at": assessed_at,
    }
    return KeptAnswer(appliance_id, assessment, rates, obligations)


def obligation_keys(appliance_id: int, obligations: Sequence[results.Obligation]) -> list[str]:
    """The keys of an assessment's obligations, in its order: what stays the same however often it is assessed."""
    seen: Counter[str] = Counter()
    keys = []
    for row in obligations:
        stem = f"{appliance_id}:{row.rule}:{row.kind}:{row.opened_on}"
        seen[stem] += 1
        keys.append(f"{stem}:{seen[stem]}")
    return keys


def answers_keep(answers: Collection[KeptAnswer], *, changed: Collection[KeptAnswer]) -> None:
    """Write answers down; the caller holds locks on the appliances. Rows of the same thing keep their ids.

    Args:
        answers: all that were found.
        changed: those of them whose leak rates and obligations may differ from the rows that are there.
    """
    if changed:
        ids = [answer.appliance_id for answer in changed]
        _keep(LeakRate, "position", ids, _together(changed, "rates"))
        obligations = _together(changed, "obligations")
        newest = _newest_assignments(ids)
        for (_, key), columns in obligations.items():
            columns["assignment_id"] = newest.get(key)
        _keep(Obligation, "key", ids, obligations)
    ApplianceAssessment.objects.bulk_create(
        [ApplianceAssessment(appliance_id=one.appliance_id, **one.assessment) for one in answers],
        update_conflicts=True,
        unique_fields=["appliance"],
        update_fields=list(next(iter(answers)).assessment) if answers else [],
    )


def _together(answers: Collection[KeptAnswer], part: str) -> _Rows:
    return {
        (answer.appliance_id, key): columns
        for answer in answers
        for key, columns in getattr(answer, part).items()
    }


def _keep(model: type[Any], key: str, appliance_ids: Collection[int], wanted: _Rows) -> None:
    """Make the appliances' rows what is wanted: change what differs, add what is new, delete what is gone."""
    changed, gone = [], []
    new = dict(wanted)
    for row in model.objects.filter(AmongIds("appliance", appliance_ids)).iterator():
        columns = new.pop((row.appliance_id, getattr(row, key)), None)
        if columns is None:
            gone.append(row.pk)
        elif any(getattr(row, name) != value for name, value in columns.items()):
            for name, value in columns.items():
                setattr(row, name, value)
            changed.append(row)
    if gone:
        model.objects.filter(pk__in=gone).delete()
    if changed:
        names = [name.removesuffix("_id") for name in next(iter(wanted.values()))]
        model.objects.bulk_create(changed, update_conflicts=True, unique_fields=["pk"], update_fields=names)
    if new:
        _add(model, ("appliance_id", key, *next(iter(new.values()))), new)


def _add(model: type[Any], names: Sequence[str], new: _Rows) -> None:
    """Add rows; PostgreSQL takes them as a stream, which spares the making of a model object for each."""
    rows = ((*keys, *columns.values()) for keys, columns in new.items())
    if connection.vendor != "postgresql":
        model.objects.bulk_create([model(**dict(zip(names, row, strict=True))) for row in rows])
        return
    quoted = ", ".join(f'"{name}"' for name in names)
    table = model._meta.db_table  # noqa: SLF001 -- Django documents it
    with connection.cursor() as cursor, cursor.copy(f'COPY "{table}" ({quoted}) FROM STDIN') as stream:
        for row in rows:
            stream.write_row(row)


def _newest_assignments(appliance_ids: Collection[int]) -> dict[str, int]:
    assigned = ObligationAssignment.objects.filter(AmongIds("appliance", appliance_ids)).order_by("pk")
    return dict(assigned.values_list("obligation_key", "pk"))


def _rate(rate: results.LeakRate, record_ids: RecordIds) -> dict[str, Any]:
    return {
        "event_id": record_ids.events.get(rate.event or ""),
        "rule": rate.rule,
        "method": rate.method.value,
        "on": rate.on,
        "added_mg": rate.added_mg,
        "days": rate.days,
        "rate_pct": rate.percent_rounded,
        "threshold_pct": rate.threshold_pct,
        "exceeds": rate.exceeds,
        "because": rate.because,
    }


def _obligation(row: results.Obligation, record_ids: RecordIds) -> dict[str, Any]:
    return {
        "rule": row.rule,
        "kind": row.kind.value,
        "opened_on": row.opened_on,
        "due_on": row.due_on,
        "status": row.status.value,
        "met_on": row.met_on,
        "opened_by_id": record_ids.events.get(row.opened_by_event or ""),
        "met_by_id": record_ids.events.get(row.met_by_event or ""),
        "opened_by_filing_id": record_ids.filings.get(row.opened_by_event or ""),
        "met_by_filing_id": record_ids.filings.get(row.met_by_event or ""),
        "citation": row.citation,
        "because": row.because,
        "is_confirmed": row.is_confirmed,
    }


def _verdict(verdict: results.RuleVerdict) -> dict[str, str]:
    return {"rule": verdict.rule, "citation": verdict.citation, "because": verdict.because}
