"""Keeps the rulebook's answers as rows: projections of a pure function, which any rebuild gives again.

One appliance is assessed inside the transaction that files its record. Many are read and assessed without a lock, so
that no filing waits for them; before they are written, those that somebody else assessed meanwhile are left out.
"""

import datetime
import logging
from collections.abc import Collection, Iterator
from dataclasses import dataclass, field
from typing import Any

from django.db import connection, transaction

from compliance.models import ApplianceAssessment
from compliance.rulebook import results
from compliance.rulebook.assess import assess
from compliance.selectors.facts import Records, describe, records_of, rules_for
from compliance.services.kept_answers import KeptAnswer, RecordIds, answers_keep, kept_answer
from compliance.services.reminders import reminders_drop_settled
from jobs.models import Appliance, ServiceEvent
from jobs.selectors.among import AmongIds

logger = logging.getLogger(__name__)

# When each appliance was assessed, and the hash of the answer.
_Found = dict[int, tuple[datetime.datetime, str]]


@dataclass
class Reassessment:
    """What came of assessing many: how many were assessed, how many answers were new, and who failed and why."""

    assessed: int = 0
    changed: int = 0
    failures: list[str] = field(default_factory=list)


@transaction.atomic
def appliance_reassess(
    *, appliance: Appliance, as_of: datetime.date, assessed_at: datetime.datetime
) -> results.Assessment:
    """Assess an appliance and keep the answer.

    Args:
        appliance: the one to assess; assessments of one appliance wait for each other.
        as_of: the day at its site on which clocks are read.
        assessed_at: the instant that counts as now.
    """
    locked = Appliance.objects.select_for_update(no_key=True, of=("self",)).select_related("site")
    appliance = locked.get(pk=appliance.pk)
    records = records_of([appliance.pk])[appliance.pk]
    answer = _assess(appliance, records, as_of)
    kept = _kept(appliance, records, answer, assessed_at)
    answers_keep([kept], changed=[kept])
    reminders_drop_settled(appliance_ids=[appliance.pk])
    return answer


def appliances_reassess(
    *, appliance_ids: Collection[int], now: datetime.datetime, is_rebuild: bool = False
) -> Reassessment:
    """Assess appliances as of now and keep the answers; one that can't be assessed keeps no other from its clocks.

    Args:
        appliance_ids: those to assess, a few hundred at most: they are held in memory together.
        now: the instant whose date at each site counts.
        is_rebuild: compare every stored row, even where the same answer was stored before.
    """
    found = _found(appliance_ids)
    outcome = Reassessment()
    answers = list(_answers(appliance_ids, now, outcome))
    with transaction.atomic():
        free = _lock_unassessed([answer.appliance_id for answer in answers], found)
        answers = [answer for answer in answers if answer.appliance_id in free]
        changed = [answer for answer in answers if is_rebuild or _differs(answer, found)]
        answers_keep(answers, changed=changed)
        reminders_drop_settled(appliance_ids=[answer.appliance_id for answer in changed])
    outcome.assessed, outcome.changed = len(answers), len(changed)
    return outcome


def filed_event_assess(*, event: ServiceEvent, filed_at: datetime.datetime, **_: Any) -> None:
    """Assess the appliance of an event that is being filed, inside its transaction."""
    as_of = filed_at.astimezone(event.appliance.site.zone).date()
    appliance_reassess(appliance=event.appliance, as_of=as_of, assessed_at=filed_at)


def _found(appliance_ids: Collection[int]) -> _Found:
    """What is stored of the appliances' assessments at this moment."""
    rows = ApplianceAssessment.objects.filter(AmongIds("appliance", appliance_ids))
    columns = rows.values_list("appliance", "assessed_at", "answer_sha256")
    return {pk: (assessed_at, sha256) for pk, assessed_at, sha256 in columns}


def _answers(
    appliance_ids: Collection[int], now: datetime.datetime, outcome: Reassessment
) -> Iterator[KeptAnswer]:
    appliances = Appliance.objects.filter(AmongIds("pk", appliance_ids)).select_related("site").order_by("pk")
    records = records_of(appliance_ids)
    for appliance in appliances:
        try:
            of_appliance = records[appliance.pk]
            answer = _assess(appliance, of_appliance, now.astimezone(appliance.site.zone).date())
            yield _kept(appliance, of_appliance, answer, now)
        except Exception as error:
            logger.exception("Appliance %s was not assessed", appliance.pk)
            outcome.failures.append(f"{appliance} (number {appliance.pk}): {error}")


def _lock_unassessed(appliance_ids: Collection[int], found: _Found) -> set[int]:
    """Lock appliances for writing their answers; return those that nobody has assessed since they were read.

    One that is locked is being filed or assessed at this moment, which gives a newer answer.
    """
    appliances = Appliance.objects.filter(AmongIds("pk", appliance_ids)).order_by("pk")
    if connection.features.has_select_for_update_skip_locked:
        appliances = appliances.select_for_update(no_key=True, skip_locked=True)
    free = set(appliances.values_list("pk", flat=True))
    now_there = _found(free)
    return {pk for pk in free if now_there.get(pk) == found.get(pk)}


def _differs(answer: KeptAnswer, found: _Found) -> bool:
    before = found.get(answer.appliance_id)
    return before is None or before[1] != answer.assessment["answer_sha256"]


def _assess(appliance: Appliance, records: Records, as_of: datetime.date) -> results.Assessment:
    rules = rules_for(appliance.site)
    return assess(describe(appliance), records.facts(), as_of=as_of, rules=rules, looks_ahead=False)


def _kept(
    appliance: Appliance, records: Records, answer: results.Assessment, assessed_at: datetime.datetime
) -> KeptAnswer:
    record_ids = RecordIds(
        {visit.reference: visit.event_id for visit in records.visits},
        {filing.reference: filing.pk for filing in records.filings},
    )
    return kept_answer(appliance.pk, answer, record_ids, assessed_at=assessed_at)
