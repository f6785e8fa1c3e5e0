"""Checks that whoever handles refrigerant in the European Union or Great Britain is certified for the work."""

from compliance.rulebook.european_certification import Shortfall, trainee_period_ends_on
from jobs.models import Certification, Technician
from jobs.selectors.european_scope import Held, activity_of, held_for
from jobs.services.checks.supervision import LearnersTerms, learners_supervisor
from jobs.services.checks.visit_context import VisitContext
from jobs.services.submission import INTO_APPLIANCE

TRAINEES = LearnersTerms(
    trainee_period_ends_on,
    "a trainee may work supervised until {ends_on}, and {on} is outside these days.",
    "A trainee works under supervision: expected the certified supervisor.",
    "Implementing Regulation (EU) 2024/2215 Art. 3(4)",
)


def european_certificate(visit: VisitContext, technician: Technician) -> Certification | None:
    """The certificate that a visit relies on; notes a refusal where the law as it was read wants another.

    What rests on memory refuses nothing: the record's page tells the officer.
    """
    held = _held(visit, technician)
    if held.shortfall is None or not held.shortfall.is_binding:
        return held.certification
    if not technician.is_apprentice:
        _refuse(visit, "technician", technician, held.shortfall)
        return None
    return _supervised(visit, technician)


def _supervised(visit: VisitContext, trainee: Technician) -> Certification | None:
    """The supervisor's certificate under which a trainee works (Art. 3(4))."""
    supervisor = learners_supervisor(visit, trainee, TRAINEES)
    if supervisor is None:
        return None
    held = _held(visit, supervisor)
    if held.shortfall and held.shortfall.is_binding:
        _refuse(visit, "supervisor", supervisor, held.shortfall)
        return None
    return held.certification


def _held(visit: VisitContext, person: Technician) -> Held:
    submission = visit.submission
    activity = activity_of(
        submission.work_kinds,
        are_additions=[row.direction == INTO_APPLIANCE for row in submission.transfers],
        is_opened=submission.is_circuit_opened,
    )
    return held_for(person, visit.appliance, visit.charge, activity, on=submission.happened_on)


def _refuse(visit: VisitContext, name: str, person: Technician, shortfall: Shortfall) -> None:
    expected = f"Expected someone certified for this work on {visit.appliance}. {shortfall.because}"
    visit.refusals.add(name, person, expected, shortfall.citation)
