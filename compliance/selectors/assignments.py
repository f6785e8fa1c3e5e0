"""Who has an obligation, who had it, and to whom it can be given."""

from django.db.models import QuerySet

from compliance.models import Obligation, ObligationAssignment
from jobs.models import Technician
from portal.accounts.models import Role, User


def assignment_history(obligation: Obligation) -> QuerySet[ObligationAssignment]:
    """Every assignment of an obligation, newest first."""
    rows = ObligationAssignment.objects.filter(obligation_key=obligation.key)
    return rows.select_related("technician", "user", "assigned_by")


def assignable_technicians() -> QuerySet[Technician]:
    """Technicians who work for the firm."""
    return Technician.objects.filter(is_active=True).order_by("full_name")


def assignable_users() -> QuerySet[User]:
    """People of the office who see the board and are no technicians."""
    roles = (Role.COMPLIANCE_OFFICER.value, Role.OFFICE_ADMIN.value)
    people = User.objects.filter(is_active=True, groups__name__in=roles, technician=None)
    return people.distinct().order_by("full_name")
