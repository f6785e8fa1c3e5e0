"""Files a submission once, however often and however fast it is sent."""

from collections.abc import Callable
from typing import TypeVar
from uuid import UUID

from django.db import IntegrityError, transaction

from jobs.models import (
    AmendableRecord,
    CylinderPressureCheck,
    CylinderRecord,
    ServiceEvent,
    StockMovement,
)

Filed = TypeVar("Filed")


def file_once(
    records: type[ServiceEvent | StockMovement | CylinderRecord | CylinderPressureCheck | AmendableRecord],
    submission_id: UUID,
    act: Callable[[], Filed],
) -> Filed:
    """Run ``act`` in a transaction, and again if another request filed the same submission while it ran.

    Args:
        records: the table that keeps a submission's id unique.
        submission_id: made by the form.
        act: files the submission, or finds it filed before.

    Raises:
        IntegrityError: the database refused something else.
    """
    try:
        with transaction.atomic():
            return act()
    except IntegrityError:
        if not records.objects.filter(submission_id=submission_id).exists():
            raise
    with transaction.atomic():
        return act()
