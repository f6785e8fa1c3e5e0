"""Gives obligations to people, and back to whoever looks after the appliance."""

import datetime

from django.db import transaction

from compliance.models import Obligation, ObligationAssignment
from jobs.errors import Refusal, SubmissionRefused
from jobs.models import Appliance, Technician
from portal.accounts.models import User


@transaction.atomic
def obligation_assign(
    *,
    by: User,
    obligation: Obligation,
    technician: Technician | None = None,
    user: User | None = None,
    note: str = "",
    assigned_at: datetime.datetime,
) -> ObligationAssignment:
    """Give an obligation to a technician or to another person who signs in; to neither gives it back.

    Former assignments stay: they are the history of who had it.

    Args:
        by: who decides.
        obligation: what is given; it keeps its assignment when it is derived anew.
        technician: who gets it,
        user: or who gets it; who signs in as a technician counts as that technician.
        note: a word to whoever gets it.
        assigned_at: the instant.

    Raises:
        SubmissionRefused: both are named, or the person has left.
    """
    if user is not None and hasattr(user, "technician"):
        technician, user = technician or user.technician, None
    _refuse(technician, user)
    # Assessing the appliance reads the newest assignment: the two wait for each other.
    Appliance.objects.select_for_update(no_key=True, of=("self",)).get(pk=obligation.appliance_id)
    assignment = ObligationAssignment.objects.create(
        appliance_id=obligation.appliance_id,
        obligation_key=obligation.key,
        technician=technician,
        user=user,
        note=note,
        assigned_by=by,
        assigned_at=assigned_at,
    )
    Obligation.objects.filter(key=obligation.key).update(assignment=assignment)
    return assignment


def _refuse(technician: Technician | None, user: User | None) -> None:
    if technician is not None and user is not None:
        raise SubmissionRefused([Refusal("person", f"{technician}, {user}", "Expected one person.")])
    person = technician or user
    if person is not None and not person.is_active:
        expected = "Expected somebody who still works for the firm."
        raise SubmissionRefused([Refusal("person", str(person), expected)])
