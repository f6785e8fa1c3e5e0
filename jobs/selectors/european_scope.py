"""Whether a person's certificate of the European Union or Great Britain covers what was done on a visit."""

import datetime
from collections.abc import Collection
from dataclasses import dataclass

from compliance.rulebook.european_certification import Activity, Job, Shortfall, certificate_shortfall
from jobs.models import Appliance, Certification, ServiceEvent, Technician, WorkKind
from jobs.selectors.appliances import Charge
from jobs.selectors.evacuation import circuit_of
from jobs.selectors.technicians import certificates_under

_CHECKS = frozenset({WorkKind.LEAK_INSPECTION, WorkKind.VERIFICATION})


@dataclass(frozen=True)
class Held:
    """The certificate that a visit relies on, if any, and why it doesn't cover it, if it doesn't."""

    certification: Certification | None
    shortfall: Shortfall | None


def activity_of(work_kinds: Collection[str], *, are_additions: Collection[bool], is_opened: bool) -> Activity:
    """What a visit comes to, as certificates tell work apart.

    Args:
        work_kinds: what was done.
        are_additions: of each transfer, whether it went into the appliance.
        is_opened: whether the circuit was broken into.
    """
    kinds = set(work_kinds)
    if kinds and kinds <= _CHECKS and not are_additions and not is_opened:
        return Activity.LEAK_CHECK
    if kinds == {WorkKind.DISPOSAL} and are_additions and not any(are_additions):
        return Activity.RECOVERY
    return Activity.WORK


def held_for(
    person: Technician, appliance: Appliance, charge: Charge, activity: Activity, *, on: datetime.date
) -> Held:
    """Find the certificate that covers work on an appliance, or the newest one and why it doesn't.

    Args:
        person: who does the work.
        appliance: with its site, whose law counts.
        charge: in force on the day, its refrigerant a known designation.
        activity: what is done.
        on: the day.
    """
    rule = appliance.site.jurisdiction
    job = Job(rule, circuit_of(appliance, charge), activity, on)
    held = certificates_under(person, rule, on)
    for certification in held:
        if certificate_shortfall(job, [certification.type]) is None:
            return Held(certification, None)
    shortfall = certificate_shortfall(job, [certification.type for certification in held])
    return Held(next(iter(held), None), shortfall)


def event_shortfall(event: ServiceEvent, charge: Charge) -> Shortfall | None:
    """Say why nobody's certificate covers a record's work; the supervisor's stands for a trainee's.

    Args:
        event: the record, with its people and transfers.
        charge: in force on its day.
    """
    person = event.supervisor or event.technician
    if person is None:
        return None
    rows = [row for row in event.transfers.all() if row.reverses_id is None]
    additions = [row.to_holder.appliance_id == event.appliance_id for row in rows]
    activity = activity_of(event.work_kinds, are_additions=additions, is_opened=event.is_circuit_opened)
    return held_for(person, event.appliance, charge, activity, on=event.happened_on).shortfall
