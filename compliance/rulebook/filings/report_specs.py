"""Filings about reports that were sent, and about automatic leak detection."""

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
from compliance.rulebook.rules import US_CALIFORNIA, US_FEDERAL, US_FEDERAL_HFC

_CHRONIC = Paragraph("(j)", "(j), (m)(4)")
_ANNUAL = Paragraph(elsewhere="17 CCR 95388")
_DETECTION = both("(g)(4)")
_DETECTION_RECORD = Paragraph("(l)(4)", "(l)(6)")
_DIRECT, _INDIRECT = ("detection_type", ("direct",)), ("detection_type", ("indirect",))

CHRONIC_LEAK_REPORT_FILED = FilingSpec(
    kind=FilingKind.CHRONIC_LEAK_REPORT_FILED,
    name="Chronic leak report sent",
    day_label="Sent on",
    why="An appliance that leaked its charge and a quarter in a calendar year is reported to the agency.",
    paragraph=_CHRONIC,
    needs_rules=(US_FEDERAL,),
    summary=("year", "sent_by"),
    fields=(
        EvidenceField("year", "Calendar year reported", EvidenceType.YEAR, _CHRONIC),
        EvidenceField("cause", "Cause of the leaks", EvidenceType.TEXT, _CHRONIC),
        EvidenceField(
            "repair_actions", "What was done to find the leaks and repair them", EvidenceType.TEXT, _CHRONIC
        ),
        EvidenceField(
            "has_plan",
            "Is there a retrofit or retirement plan",
            EvidenceType.CHOICE,
            _CHRONIC,
            choices=(("yes", "Yes"), ("no", "No")),
        ),
        EvidenceField("plan_on", "Date of the plan", EvidenceType.DAY, _CHRONIC, only=("has_plan", ("yes",))),
        replace(SIGNED_BY, paragraph=_CHRONIC, required_by=(US_FEDERAL_HFC,)),
        SENT_BY,
        RECEIPT_NUMBER,
    ),
)

ANNUAL_REPORT_FILED = FilingSpec(
    kind=FilingKind.ANNUAL_REPORT_FILED,
    name="Annual report sent to the state",
    day_label="Sent on",
    why="The facility reports the calendar year before to the state.",
    paragraph=_ANNUAL,
    needs_rules=(US_CALIFORNIA,),
    summary=("year", "sent_by"),
    fields=(
        EvidenceField("year", "Calendar year reported", EvidenceType.YEAR, _ANNUAL),
        EvidenceField("sent_by", "How it was sent", paragraph=_ANNUAL),
        EvidenceField("receipt_number", "Number of the receipt", is_required=False),
    ),
)

AUTOMATIC_LEAK_DETECTION = FilingSpec(
    kind=FilingKind.AUTOMATIC_LEAK_DETECTION,
    name="Automatic leak detection installed",
    day_label="Installed on",
    why="Detection that watches the whole appliance all the time takes the place of leak inspections.",
    paragraph=Paragraph("(g)(4), (l)(4)", "(g)(4), (l)(6)"),
    summary=("detection_type",),
    fields=(
        EvidenceField(
            "detection_type",
            "What it senses",
            EvidenceType.CHOICE,
            _DETECTION,
            choices=(
                ("direct", "Direct: refrigerant in the air"),
                ("indirect", "Indirect: the appliance’s own readings"),
            ),
        ),
        EvidenceField("location", "Where it is, and what it watches", EvidenceType.TEXT, _DETECTION_RECORD),
        EvidenceField("detects_ppm", "Detects from, in ppm", EvidenceType.NUMBER, _DETECTION, only=_DIRECT),
        EvidenceField("alarms_ppm", "Alarms at, in ppm", EvidenceType.NUMBER, _DETECTION, only=_DIRECT),
        EvidenceField("alarms_at_loss", "Alarms at a loss of", EvidenceType.MASS, _DETECTION, only=_INDIRECT),
        EvidenceField(
            "watches_all",
            "It watches the whole appliance all the time",
            EvidenceType.YES,
            _DETECTION,
            hint="Where it watches a part, the rest is inspected as before: file no detection then.",
        ),
    ),
)

LEAK_DETECTION_ALARM = FilingSpec(
    kind=FilingKind.LEAK_DETECTION_ALARM,
    name="Leak detection alarmed",
    day_label="Alarmed on",
    why="Each time that automatic leak detection finds a leak, its day and place are kept. The clocks of a repair "
    "start with the refrigerant that is added, not with the alarm.",
    paragraph=_DETECTION_RECORD,
    needs_rules=(US_FEDERAL,),
    summary=("location",),
    fields=(
        EvidenceField("location", "Where it found the leak", paragraph=_DETECTION_RECORD),
        EvidenceField("reading", "What it read", is_required=False, hint="With its unit, such as 120 ppm."),
        EvidenceField(
            "followed_by",
            "What was found and done",
            EvidenceType.TEXT,
            is_required=False,
            hint="A visit, its leaks and repairs are filed as a service event; name it here.",
        ),
    ),
)

LEAK_DETECTION_CALIBRATION = FilingSpec(
    kind=FilingKind.LEAK_DETECTION_CALIBRATION,
    name="Leak detection audited or calibrated",
    day_label="Done on",
    why="Automatic leak detection is audited or calibrated each year.",
    paragraph=Paragraph("(g)(4), (l)(4)", "(g)(4), (l)(6)"),
    summary=("done_by",),
    fields=(
        EvidenceField("done_by", "Done by", paragraph=_DETECTION_RECORD),
        EvidenceField("result", "What was checked, and the result", EvidenceType.TEXT, _DETECTION_RECORD),
    ),
)
