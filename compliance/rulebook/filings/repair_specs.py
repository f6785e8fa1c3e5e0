"""Filings while a leak is repaired, or instead: more time, a shutdown, mothballing, seasonal variance."""

from dataclasses import replace

from compliance.rulebook.facts import CALIFORNIA_EXTENSION_BASES, FEDERAL_EXTENSION_BASES
from compliance.rulebook.filings import california_specs
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
from compliance.rulebook.rules import US_CALIFORNIA, US_FEDERAL, US_FEDERAL_HFC, US_FEDERAL_ODS

_F1, _F4 = both("(f)(1)"), both("(f)(4)")
_LATER = Paragraph("(f)(1)", "(f)(1)", california=california_specs.REPAIR_SECTION)
_ASKED = Paragraph("(f)(4)", "(f)(4)", california=california_specs.REPAIR_SECTION)
_SHUTDOWN = Paragraph("(d)", "(d)", california=california_specs.REPAIR_SECTION)
_PARTS, _RADIOLOGICAL, _REGULATION = "parts", "radiological", "other_regulation"
_OF_REQUESTS = ("basis", FEDERAL_EXTENSION_BASES)
MOTHBALLING = Paragraph(elsewhere="40 CFR 82.152, 84.102")
SEASONAL = Paragraph("(l)(10)", "(l)(12)")

EXTENSION = FilingSpec(
    kind=FilingKind.EXTENSION,
    name="More time for a repair or test",
    day_label="Sent or recorded on",
    why="The agency is asked for more time within the time for the repair; it is approved unless the agency says "
    "otherwise. In California the state’s own grounds need no request: the records of them are kept.",
    paragraph=_ASKED,
    needs_rules=(US_FEDERAL,),
    summary=(
        "obligation",
        "basis",
        "parts_needed",
        "regulation",
        "delivery_expected_on",
        "delivered_on",
        "completion_estimate",
        "parts_sought",
        "available_on",
        "gases_reported",
    ),
    fields=(
        EvidenceField(
            "obligation",
            "More time for",
            EvidenceType.CHOICE,
            _LATER,
            choices=(
                ("repair", "The repair and its initial verification test"),
                ("initial_verification_test", "The initial verification test alone"),
                ("follow_up_verification_test", "The follow-up verification test"),
            ),
        ),
        EvidenceField(
            "basis",
            "Ground",
            EvidenceType.CHOICE,
            _LATER,
            choices=(
                (_PARTS, "Parts or components are not to be had in time"),
                (_RADIOLOGICAL, "Radiological contamination"),
                (_REGULATION, "Another regulation forbids the work in time"),
                *california_specs.GROUNDS,
            ),
            rules_of_choices={
                **dict.fromkeys(FEDERAL_EXTENSION_BASES, (US_FEDERAL_ODS, US_FEDERAL_HFC)),
                **dict.fromkeys(CALIFORNIA_EXTENSION_BASES, (US_CALIFORNIA,)),
            },
        ),
        EvidenceField("parts_needed", "Parts needed", paragraph=_F1, only=("basis", (_PARTS,))),
        EvidenceField("supplier", "Supplier", paragraph=_F1, only=("basis", (_PARTS,))),
        EvidenceField(
            "ordered_on", "Ordered on", EvidenceType.DAY, _F1, is_required=False, only=("basis", (_PARTS,))
        ),
        EvidenceField(
            "delivery_expected_on", "Delivery expected on", EvidenceType.DAY, _F1, only=("basis", (_PARTS,))
        ),
        EvidenceField(
            "delivered_on",
            "Delivered on",
            EvidenceType.DAY,
            _F1,
            hint="Once the parts are there: the days run from it. Until then the longest time counts.",
            is_required=False,
            only=("basis", (_PARTS,)),
        ),
        EvidenceField(
            "radiological_conditions",
            "The contamination, and why it keeps people from the work",
            EvidenceType.TEXT,
            _F1,
            only=("basis", (_RADIOLOGICAL,)),
        ),
        EvidenceField(
            "regulation",
            "The regulation that forbids it, and its authority",
            paragraph=_F1,
            only=("basis", (_REGULATION,)),
        ),
        *california_specs.FIELDS,
        EvidenceField(
            "reasons", "Why the work can’t be done in time", EvidenceType.TEXT, _F4, only=_OF_REQUESTS
        ),
        EvidenceField(
            "completion_estimate", "Work expected to be done by", EvidenceType.DAY, _F4, only=_OF_REQUESTS
        ),
        EvidenceField(
            "other_leaks",
            "Leaks that need no more time, and when they are repaired",
            EvidenceType.TEXT,
            both("(f)(2)"),
            hint="They are still repaired and tested within the ordinary time.",
            is_required=False,
            only=_OF_REQUESTS,
        ),
        EvidenceField(
            "identified_on",
            "More time found to be needed on",
            EvidenceType.DAY,
            _F4,
            hint="Only for an estimate that takes the place of an earlier one.",
            is_required=False,
            only=_OF_REQUESTS,
        ),
        replace(SIGNED_BY, paragraph=_F4, required_by=(US_FEDERAL_HFC,), only=_OF_REQUESTS),
        replace(SENT_BY, only=_OF_REQUESTS),
        replace(RECEIPT_NUMBER, only=_OF_REQUESTS),
    ),
)

SHUTDOWN_REQUIRED = FilingSpec(
    kind=FilingKind.SHUTDOWN_REQUIRED,
    name="Industrial process shutdown needed",
    day_label="Decided on",
    why="Where a repair needs an industrial process shutdown, the time for it is longer.",
    paragraph=_SHUTDOWN,
    needs_rules=(US_FEDERAL,),
    summary=("decided_by", "shutdown_planned_on"),
    fields=(
        EvidenceField("decided_by", "Decided by", paragraph=_SHUTDOWN, hint="Name and position."),
        EvidenceField(
            "reasons", "What must stand still for the repair, and why", EvidenceType.TEXT, _SHUTDOWN
        ),
        EvidenceField(
            "shutdown_planned_on",
            "Shutdown planned for",
            EvidenceType.DAY,
            _SHUTDOWN,
            is_required=False,
        ),
    ),
)

MOTHBALLED = FilingSpec(
    kind=FilingKind.MOTHBALLED,
    name="Mothballed",
    day_label="Mothballed on",
    why="Evacuated to at least atmospheric pressure and shut down for a time; repair and plan clocks stand still until "
    "refrigerant is added.",
    paragraph=Paragraph("(d)(3), (l)(8)", "(d)(3), (l)(10)"),
    needs_rules=(US_FEDERAL,),
    summary=("extent", "isolated_part", "pressure_reached"),
    fields=(
        EvidenceField(
            "extent",
            "What was evacuated",
            EvidenceType.CHOICE,
            MOTHBALLING,
            choices=(("whole", "The whole appliance"), ("isolated", "An isolated section or component")),
        ),
        EvidenceField(
            "isolated_part",
            "Which section or component",
            paragraph=MOTHBALLING,
            only=("extent", ("isolated",)),
        ),
        EvidenceField(
            "evacuation_visit",
            "The visit that took the refrigerant out",
            EvidenceType.VISIT_THAT_REMOVED,
            MOTHBALLING,
        ),
        EvidenceField(
            "pressure_reached",
            "Pressure reached",
            EvidenceType.NUMBER,
            MOTHBALLING,
            unit_field="pressure_unit",
        ),
        EvidenceField(
            "pressure_unit",
            "Unit of the pressure",
            EvidenceType.CHOICE,
            MOTHBALLING,
            choices=(
                ("psig", "psig"),
                ("inHg_vac", "in Hg vacuum"),
                ("micron", "micron (absolute)"),
                ("mmHg_abs", "mm Hg absolute"),
                ("kPa_abs", "kPa absolute"),
            ),
        ),
        EvidenceField("shut_down", "How it is kept from running", EvidenceType.TEXT, MOTHBALLING),
    ),
)

RETURNED_TO_SERVICE = FilingSpec(
    kind=FilingKind.RETURNED_TO_SERVICE,
    name="Returned to service",
    day_label="Returned on",
    why="The end of mothballing. Clocks go on from the day on which refrigerant is added.",
    paragraph=Paragraph("(d)(3), (l)(8)", "(d)(3), (l)(10)"),
    needs_rules=(US_FEDERAL,),
    summary=("addition_visit",),
    fields=(
        EvidenceField(
            "addition_visit",
            "The visit that put refrigerant back",
            EvidenceType.VISIT_THAT_ADDED,
            Paragraph("(l)(8)", "(l)(10)"),
            hint="Leave it empty where nothing was added; the clocks then go on standing still.",
            is_required=False,
        ),
        EvidenceField(
            "circumstances", "How it was put back into service", EvidenceType.TEXT, is_required=False
        ),
    ),
)

SEASONAL_VARIANCE = FilingSpec(
    kind=FilingKind.SEASONAL_VARIANCE,
    name="Seasonal variance used",
    day_label="Season closed on",
    why="What was taken out for a change of season and put back within the year is left out of the leak rate, if a "
    "statement says so.",
    paragraph=SEASONAL,
    needs_rules=(US_FEDERAL,),
    summary=("removal_visit", "addition_visit"),
    fields=(
        EvidenceField(
            "removal_visit",
            "The visit that took refrigerant out for the season",
            EvidenceType.VISIT_THAT_REMOVED,
            SEASONAL,
        ),
        EvidenceField(
            "addition_visit",
            "The visit that put it back",
            EvidenceType.VISIT_THAT_ADDED,
            SEASONAL,
            hint="Empty at the end of a season; amend the filing, or file another one, when it is put back.",
            is_required=False,
        ),
        EvidenceField(
            "statement",
            "Statement that the seasonal variance is used",
            EvidenceType.TEXT,
            SEASONAL,
        ),
        SIGNED_BY,
    ),
)
