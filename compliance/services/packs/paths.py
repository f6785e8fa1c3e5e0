"""Where each file of a record pack stands: a number that tells files apart, then a name that people know."""

import re
from collections.abc import Callable

from compliance.selectors.event_record import RECORD_KIND
from compliance.selectors.filing_record import RECORD_KIND as FILING_KIND
from compliance.selectors.method_changes import CHANGE_KIND, CORRECTION_KIND
from jobs.models import (
    AmendableRecord,
    Appliance,
    CaseFiling,
    FilingAttachment,
    LeakRateMethodChange,
    LeakRateMethodCorrection,
    ServiceEvent,
    WeighLog,
)

# Kinds of records that people quote by a number of their own.
QUOTED: dict[str, Callable[..., ServiceEvent | AmendableRecord]] = {
    RECORD_KIND: ServiceEvent,
    FILING_KIND: CaseFiling,
    CHANGE_KIND: LeakRateMethodChange,
    CORRECTION_KIND: LeakRateMethodCorrection,
}
# Never a name that leads out of the folder.
UNSAFE = re.compile(r"[^A-Za-z0-9.]+")


def record_path(kind: str, pk: int, form: str = "json") -> str:
    """Where a record stands: its canonical form as JSON, or its print as ``pdf``."""
    model = QUOTED.get(kind)
    name = model(pk=pk).reference if model else f"{kind.replace('_', '-')}-{pk:06d}"
    return f"records/{name}.{form}"


def log_path(log: WeighLog) -> str:
    """Where a scale's log stands."""
    return f"weigh-logs/{log.pk:06d}-{_safe(log.name, 'log')}"


def document_path(document: FilingAttachment) -> str:
    """Where a document of a filing stands."""
    return f"documents/{document.filing.reference}-{document.position}-{_safe(document.name, 'document')}"


def appliance_path(appliance: Appliance) -> str:
    """Where the whole record of an appliance stands."""
    return f"appliances/{appliance.pk:06d}-{_safe(appliance.name, 'appliance')}.pdf"


def _safe(name: str, otherwise: str) -> str:
    return UNSAFE.sub("-", name).strip(".-") or otherwise
