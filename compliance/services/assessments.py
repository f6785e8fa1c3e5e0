"""Keeps the rulebook's answers as rows: projections of a pure function, which any rebuild gives again."""

import datetime
from collections import Counter
from collections.abc import Mapping, Sequence
from typing import Any

from django.db import transaction

from compliance.models import ApplianceAssessment, LeakRate, Obligation, ObligationAssignment
from compliance.rulebook import results
from compliance.rulebook.version import RULEBOOK_VERSION
from compliance.selectors.facts import assess_appliance
from compliance.services.reminders import reminders_drop_settled
from jobs.models import Appliance, ServiceEvent


@transaction.atomic
def appliance_reassess(
    *, appliance: Appliance, as_of: datetime.date, assessed_at: datetime.datetime
) -> results.Assessment:
    """Assess an appliance and keep the answer; rows of the same thing keep their ids.

    Args:
        appliance: the one to assess; assessments of one appliance wait for each other.
        as_of: the day at its site on which clocks are read.
        assessed_at: the instant that counts as now.
    """
    locked = Appliance.objects.select_for_update(no_key=True, of=("self",)).select_related("site")
    appliance = locked.get(pk=appliance.pk)
    answer = assess_appliance(appliance, as_of=as_of)
    event_ids = {event.reference: event.pk for event in appliance.service_events.only("pk")}
    filing_ids = {filing.reference: filing.pk for filing in appliance.case_filings.only("pk")}
    _keep_rates(appliance, answer.leak_rates, event_ids)
    _keep_obligations(appliance, answer.obligations, event_ids, filing_ids)
    ApplianceAssessment.objects.update_or_create(
        appliance=appliance,
        defaults={
            "as_of": as_of,
            "rulebook_version": RULEBOOK_VERSION,
            "tables_version": answer.tables_version,
            "applies": [_verdict(verdict) for verdict in answer.applies],
            "warnings": list(answer.warnings),
            "assessed_at": assessed_at,
        },
    )
    reminders_drop_settled(appliance=appliance)
    return answer


def filed_event_assess(*, event: ServiceEvent, filed_at: datetime.datetime, **_: Any) -> None:
    """Assess the appliance of an event that is being filed, inside its transaction."""
    as_of = filed_at.astimezone(event.appliance.site.zone).date()
    appliance_reassess(appliance=event.appliance, as_of=as_of, assessed_at=filed_at)


def obligation_keys(appliance: Appliance, obligations: Sequence[results.Obligation]) -> list[str]:
    """The keys of an assessment's obligations, in its order: what stays the same however often it is assessed."""
    seen: Counter[str] = Counter()
    keys = []
    for row in obligations:
        stem = f"{appliance.pk}:{row.rule}:{row.kind}:{row.opened_on}"
        seen[stem] += 1
        keys.append(f"{stem}:{seen[stem]}")
    return keys


def _keep_rates(
    appliance: Appliance, rates: Sequence[results.LeakRate], event_ids: Mapping[str, int]
) -> None:
    wanted = {
        position: {
            "event_id": event_ids.get(rate.event or ""),
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
        for position, rate in enumerate(rates)
    }
    _keep(LeakRate, appliance, "position", wanted)


def _keep_obligations(
    appliance: Appliance,
    obligations: Sequence[results.Obligation],
    event_ids: Mapping[str, int],
    filing_ids: Mapping[str, int],
) -> None:
    assigned = ObligationAssignment.objects.filter(appliance=appliance).order_by("pk")
    newest = dict(assigned.values_list("obligation_key", "pk"))
    wanted = {
        key: {
            "rule": row.rule,
            "kind": row.kind.value,
            "opened_on": row.opened_on,
            "due_on": row.due_on,
            "status": row.status.value,
            "met_on": row.met_on,
            "opened_by_id": event_ids.get(row.opened_by_event or ""),
            "met_by_id": event_ids.get(row.met_by_event or ""),
            "opened_by_filing_id": filing_ids.get(row.opened_by_event or ""),
            "met_by_filing_id": filing_ids.get(row.met_by_event or ""),
            "citation": row.citation,
            "because": row.because,
            "is_confirmed": row.is_confirmed,
            "assignment_id": newest.get(key),
        }
        for key, row in zip(obligation_keys(appliance, obligations), obligations, strict=True)
    }
    _keep(Obligation, appliance, "key", wanted)


def _keep(model: type[Any], appliance: Appliance, key: str, wanted: Mapping[Any, dict[str, Any]]) -> None:
    """Make the appliance's rows what is wanted: change what differs, add what is new, delete what is gone."""
    kept = {getattr(row, key): row for row in model.objects.filter(appliance=appliance)}
    changed, new = [], []
    for value, fields in wanted.items():
        row = kept.pop(value, None)
        if row is None:
            new.append(model(appliance=appliance, **{key: value}, **fields))
        elif any(getattr(row, name) != field for name, field in fields.items()):
            for name, field in fields.items():
                setattr(row, name, field)
            changed.append(row)
    model.objects.filter(pk__in=[row.pk for row in kept.values()]).delete()
    if changed:
        names = [name.removesuffix("_id") for name in next(iter(wanted.values()))]
        model.objects.bulk_update(changed, names)
    model.objects.bulk_create(new)


def _verdict(verdict: results.RuleVerdict) -> dict[str, str]:
    return {"rule": verdict.rule, "citation": verdict.citation, "because": verdict.because}
