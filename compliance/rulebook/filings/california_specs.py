"""The grounds of 17 CCR 95386 for a later repair, and the evidence of each: records that are kept, not sent."""

from compliance.rulebook.facts import (
    CALIFORNIA_EXTENSION_BASES,
    CALIFORNIA_PARTS,
    CALIFORNIA_REPORTING_PROCESS,
    CALIFORNIA_SHUTDOWN,
    CALIFORNIA_TECHNICIAN,
)
from compliance.rulebook.filings.specs import EvidenceField, EvidenceType, Paragraph

REPAIR_SECTION = "17 CCR 95386"
LATER_REPAIR = Paragraph(elsewhere=REPAIR_SECTION)

GROUNDS = (
    (CALIFORNIA_PARTS, "Parts are not to be had in time (California)"),
    (CALIFORNIA_TECHNICIAN, "No certified technician is to be had in time (California)"),
    (CALIFORNIA_SHUTDOWN, "The repair needs an industrial process shutdown (California)"),
    (
        CALIFORNIA_REPORTING_PROCESS,
        "It needs one, and the facility is under mandatory reporting of greenhouse gases (California)",
    ),
)
_PARTS, _TECHNICIAN = ("basis", (CALIFORNIA_PARTS,)), ("basis", (CALIFORNIA_TECHNICIAN,))
_SHUTDOWN = ("basis", (CALIFORNIA_SHUTDOWN, CALIFORNIA_REPORTING_PROCESS))

# UNCONFIRMED: that records are kept on each ground was read; what they have to say (17 CCR 95386) is remembered.
FIELDS = (
    EvidenceField(
        "parts_sought",
        "Parts that are not to be had, and where they were sought",
        only=_PARTS,
        paragraph=LATER_REPAIR,
    ),
    EvidenceField(
        "technicians_asked",
        "Certified technicians who were asked, and what they answered",
        EvidenceType.TEXT,
        LATER_REPAIR,
        only=_TECHNICIAN,
    ),
    EvidenceField(
        "available_on",
        "Expected on",
        EvidenceType.DAY,
        LATER_REPAIR,
        hint="The parts, or the technician. Leave it empty while nobody knows.",
        is_required=False,
        only=("basis", (CALIFORNIA_PARTS, CALIFORNIA_TECHNICIAN)),
    ),
    EvidenceField(
        "shutdown_reasons",
        "What must stand still for the repair, and why",
        EvidenceType.TEXT,
        LATER_REPAIR,
        only=_SHUTDOWN,
    ),
    EvidenceField(
        "gases_reported",
        "How the facility reports its greenhouse gases",
        paragraph=LATER_REPAIR,
        hint="The name or number under which it reports (17 CCR 95100 and following), and the last year reported.",
        only=("basis", (CALIFORNIA_REPORTING_PROCESS,)),
    ),
    EvidenceField(
        "kept_at",
        "Where the records of it are kept",
        paragraph=LATER_REPAIR,
        only=("basis", CALIFORNIA_EXTENSION_BASES),
    ),
)
