"""Technicians with their certificates."""

from django.db.models import Q, QuerySet

from jobs.models import Technician


def technician_list(*, search: str = "") -> QuerySet[Technician]:
    """List technicians with their certifications fetched along; those who left come last.

    Args:
        search: part of a name, or of a certificate's number or issuer; all unless given.
    """
    technicians = Technician.objects.select_related("user").prefetch_related("certifications")
    if search := search.strip():
        wanted = (
            Q(full_name__icontains=search)
            | Q(certifications__number__icontains=search)
            | Q(certifications__issuer__icontains=search)
        )
        technicians = technicians.filter(wanted).distinct()
    return technicians.order_by("-is_active", "full_name")
