"""The filing of purged refrigerant that was destroyed, and so is left out of the leak rate."""

from dataclasses import replace

from compliance.rulebook.filings.specs import (
    RECEIPT_NUMBER,
    SENT_BY,
    SIGNED_BY,
    EvidenceField,
    EvidenceType,
    FilingKind,
    FilingSpec,
    Paragraph,
    both,
)
from compliance.rulebook.rules import US_FEDERAL

PURGE_RECORD = Paragraph("(l)(9)", "(l)(11)")
PURGE_NOTICE = both("(m)(5)")
NOTICE_SENT, NOTICE_DUE = "sent", "due"
_ONLY_SENT = ("notice", (NOTICE_SENT,))

PURGED_AND_DESTROYED = FilingSpec(
    kind=FilingKind.PURGED_AND_DESTROYED,
    name="Purged refrigerant destroyed",
    day_label="Stated on",
    why="What a purge unit took out and a control device destroyed hasn’t leaked: of what an addition replaced, it is "
    "left out of the leak rate.",
    paragraph=Paragraph("(k), (l)(9)", "(k), (l)(11)"),
    needs_rules=(US_FEDERAL,),
    summary=("destroyed", "addition_visit", "destruction_efficiency_pct"),
    fields=(
        EvidenceField(
            "addition_visit",
            "The visit whose addition replaced it",
            EvidenceType.VISIT_THAT_ADDED,
            both("(k)"),
        ),
        EvidenceField(
            "destroyed",
            "Purged and destroyed",
            EvidenceType.MASS,
            PURGE_RECORD,
            hint="No more than what was in fact purged and destroyed since the addition before.",
        ),
        EvidenceField("purged_from", "Purge flow from", EvidenceType.DAY, PURGE_RECORD),
        EvidenceField("purged_until", "Purge flow until", EvidenceType.DAY, PURGE_RECORD),
        EvidenceField(
            "purge_periods",
            "Periods of purge flow",
            EvidenceType.TEXT,
            PURGE_RECORD,
            hint="How long it flowed on which days, or the log that says so: file it as a document.",
        ),
        EvidenceField(
            "flow_rate", "Flow rate of the vent stream", paragraph=PURGE_RECORD, hint="With its unit."
        ),
        EvidenceField(
            "concentration",
            "Quantity or concentration of refrigerant in it",
            paragraph=PURGE_RECORD,
            hint="With its unit.",
        ),
        EvidenceField(
            "how_determined",
            "How the quantity sent for destruction is determined, and which records are kept",
            EvidenceType.TEXT,
            PURGE_RECORD,
        ),
        EvidenceField("monitored", "How often it is monitored and recorded", paragraph=PURGE_RECORD),
        EvidenceField("control_device", "Control device that destroys it", EvidenceType.TEXT, PURGE_RECORD),
        EvidenceField(
            "destruction_efficiency_pct",
            "Its destruction efficiency, in percent",
            EvidenceType.NUMBER,
            both("(k)"),
            hint="As verified.",
        ),
        EvidenceField(
            "purging",
            "The appliance, as far as purging and destruction go",
            EvidenceType.TEXT,
            PURGE_RECORD,
        ),
        EvidenceField(
            "contact",
            "Contact person of the facility",
            EvidenceType.TEXT,
            PURGE_RECORD,
            hint="Name, address and telephone number.",
        ),
        EvidenceField(
            "first_used_on",
            "The facility first left purged refrigerant out on",
            EvidenceType.DAY,
            PURGE_NOTICE,
        ),
        EvidenceField(
            "notice",
            "Notice to the agency of that first time",
            EvidenceType.CHOICE,
            PURGE_NOTICE,
            choices=((NOTICE_SENT, "Sent"), (NOTICE_DUE, "Not sent yet")),
        ),
        EvidenceField("notice_sent_on", "Notice sent on", EvidenceType.DAY, PURGE_NOTICE, only=_ONLY_SENT),
        replace(SENT_BY, paragraph=PURGE_NOTICE, only=_ONLY_SENT),
        # Nobody approves a notice by silence, which the receipt's hint speaks of.
        replace(RECEIPT_NUMBER, hint="", only=_ONLY_SENT),
        SIGNED_BY,
    ),
)
