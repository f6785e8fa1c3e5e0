"""Checks that whoever handles refrigerant is allowed to (40 CFR 82.161; Regulation (EU) 2024/573 Art. 10)."""

from datetime import date

from django.db.models import Q

from compliance.rulebook.certification import (
    Coverage,
    apprentice_exemption_ends_on,
    covers,
    disposal_without_certificate,
)
from jobs.models import Appliance, Certification, Technician, WorkKind, WorkOrigin
from jobs.selectors.appliances import Charge
from jobs.selectors.evacuation import circuit_of
from jobs.services.checks.european import european_certificate
from jobs.services.checks.supervision import LearnersTerms, learners_supervisor
from jobs.services.checks.visit_context import US_JURISDICTIONS, VisitContext
from jobs.services.refusals import Refusals

CERTIFICATION_RULE = "40 CFR 82.161(a)"
APPRENTICES = LearnersTerms(
    apprentice_exemption_ends_on,
    "the exemption covers the days until {ends_on}, and {on} is outside them.",
    "An apprentice works under close and continual supervision: expected the certified supervisor.",
    CERTIFICATION_RULE,
)


def check_people(visit: VisitContext) -> None:
    """Check the technician of our own work, and the supervisor of an apprentice."""
    submission = visit.submission
    if submission.origin != WorkOrigin.OWN:
        return
    if submission.technician is None:
        visit.refusals.add("technician", None, "Expected the technician who did the work.")
        return
    if not visit.is_under_us_law:
        visit.certification = european_certificate(visit, submission.technician)
        return
    if _is_disposal_without_certificate(visit):
        visit.certification = _held(visit, submission.technician)
    elif submission.technician.is_apprentice and not _held(visit, submission.technician):
        _check_apprentice(visit, submission.technician)
    else:
        visit.certification = _certificate(visit, "technician", submission.technician)


def check_responsible_technician(appliance: Appliance, refusals: Refusals, *, today: date) -> None:
    """Check that whoever looks after an appliance holds a certificate that covers it.

    Args:
        appliance: as it should become, its refrigerant a known designation and its full charge above zero.
        refusals: takes a refusal of ``technician``.
        today: the day at the site whose law counts.
    """
    technician = appliance.technician
    if technician is None or appliance.site.jurisdiction not in US_JURISDICTIONS:
        return
    circuit = circuit_of(appliance, Charge(appliance.refrigerant, appliance.full_charge_mg))
    held = technician.certifications.filter(ended_on=None)
    answers = [covers(certification.type, circuit, on=today) for certification in held]
    if any(answer.is_covered for answer in answers):
        return
    reasons = " ".join(answer.because for answer in answers) or f"{technician} has no certificate on record."
    expected = f"Expected someone certified for this appliance. {reasons}"
    citation = answers[0].citation if answers else CERTIFICATION_RULE
    refusals.add("technician", technician, expected, citation)


def _is_disposal_without_certificate(visit: VisitContext) -> bool:
    """Whether the visit disposes of an appliance, and does nothing else, of a class that takes no certificate."""
    is_disposal_alone = set(visit.submission.work_kinds) == {WorkKind.DISPOSAL}
    return (
        is_disposal_alone
        and disposal_without_certificate(
            circuit_of(visit.appliance, visit.charge), on=visit.submission.happened_on
        ).is_covered
    )


def _check_apprentice(visit: VisitContext, apprentice: Technician) -> None:
    if supervisor := learners_supervisor(visit, apprentice, APPRENTICES):
        visit.certification = _certificate(visit, "supervisor", supervisor)


def _certificate(visit: VisitContext, name: str, person: Technician) -> Certification | None:
    """The certificate that covered the appliance on the day; notes a refusal if there was none."""
    if found := _held(visit, person):
        return found
    answers = [
        (certification, _coverage(visit, certification)) for certification in person.certifications.all()
    ]
    later = [certification for certification, answer in answers if answer.is_covered]
    citation = CERTIFICATION_RULE
    if later:
        ended_on = later[0].ended_on
        when = f"counts no more from {ended_on} on" if ended_on else f"was issued on {later[0].issued_on}"
        on = visit.submission.happened_on
        expected = f"Expected a certificate that counts on {on}: {later[0]} of {person} {when}."
    elif answers:
        citation = answers[0][1].citation
        reasons = " ".join(answer.because for _, answer in answers)
        expected = f"Expected someone certified for {visit.appliance}. {reasons}"
    else:
        expected = f"Expected someone certified for {visit.appliance}; {person} has no certificate on record."
    visit.refusals.add(name, person, expected, citation)
    return None


def _held(visit: VisitContext, person: Technician) -> Certification | None:
    on = visit.submission.happened_on
    held = person.certifications.filter(Q(ended_on=None) | Q(ended_on__gt=on), issued_on__lte=on)
    return next((row for row in held if _coverage(visit, row).is_covered), None)


def _coverage(visit: VisitContext, certification: Certification) -> Coverage:
    circuit = circuit_of(visit.appliance, visit.charge)
    return covers(certification.type, circuit, on=visit.submission.happened_on)
