"""Filings about retrofitting or retiring an appliance: the choice, the plan, relief from it, more time, the answer."""

from dataclasses import replace

from compliance.rulebook.filings.specs import (
    RECEIPT_NUMBER,
    SENT_BY,
    SIGNED_BY,
    EvidenceField,
    EvidenceType,
    FilingKind,
    FilingSpec,
    both,
)
from compliance.rulebook.rules import US_FEDERAL, US_FEDERAL_HFC

_H1, _H2, _RELIEF, _I = both("(h)(1)"), both("(h)(2)"), both("(h)(5)(ii)"), both("(i)")
_RETROFIT, _RETIRE = "retrofit", "retire"
_INTENTION = EvidenceField(
    "intention",
    "Retrofit or retirement",
    EvidenceType.CHOICE,
    _H1,
    choices=((_RETROFIT, "Retrofit to another refrigerant"), (_RETIRE, "Retire the appliance")),
)
_ONLY_RETROFIT, _ONLY_RETIRE = ("intention", (_RETROFIT,)), ("intention", (_RETIRE,))
_CUSTOM, _REGULATION, _RADIOLOGICAL = "custom_built", "other_regulation", "radiological"
_EXEMPT, _OWNED = "exempt_substitute", "federally_owned"
_ASKED = ("basis", (_CUSTOM, _REGULATION, _RADIOLOGICAL, _OWNED))

ELECTED = FilingSpec(
    kind=FilingKind.RETROFIT_OR_RETIREMENT_ELECTED,
    name="Retrofit or retirement chosen",
    day_label="Chosen on",
    why="The owner or operator chooses to retrofit or retire the appliance instead of repairing it.",
    paragraph=_H1,
    needs_rules=(US_FEDERAL,),
    summary=("intention", "decided_by"),
    fields=(
        _INTENTION,
        EvidenceField("decided_by", "Decided by", paragraph=_H1, hint="Of the owner or operator."),
        EvidenceField("reasons", "Why", EvidenceType.TEXT, is_required=False),
    ),
)

PLAN = FilingSpec(
    kind=FilingKind.RETROFIT_OR_RETIREMENT_PLAN,
    name="Retrofit or retirement plan",
    day_label="Plan dated",
    why="Signed, dated and kept at the site; the retrofit or retirement is done within a year of it.",
    paragraph=_H2,
    needs_rules=(US_FEDERAL,),
    summary=("intention", "new_refrigerant", "new_full_charge", "completion_on", "signed_by"),
    fields=(
        _INTENTION,
        EvidenceField(
            "new_refrigerant",
            "Refrigerant after the retrofit",
            EvidenceType.REFRIGERANT,
            _H2,
            only=_ONLY_RETROFIT,
        ),
        EvidenceField(
            "new_full_charge", "Full charge after the retrofit", EvidenceType.MASS, _H2, only=_ONLY_RETROFIT
        ),
        EvidenceField(
            "conversion_procedure",
            "Procedure of the conversion, step by step",
            EvidenceType.TEXT,
            _H2,
            hint="With the changes of parts that the new refrigerant asks for.",
            only=_ONLY_RETROFIT,
        ),
        EvidenceField(
            "leaks_are_repaired",
            "All identified leaks are repaired as part of the retrofit",
            EvidenceType.YES,
            both("(h)"),
            only=_ONLY_RETROFIT,
        ),
        EvidenceField(
            "refrigerant_disposition", "What becomes of the recovered refrigerant", EvidenceType.TEXT, _H2
        ),
        EvidenceField(
            "appliance_disposition",
            "What becomes of the appliance",
            EvidenceType.TEXT,
            _H2,
            only=_ONLY_RETIRE,
        ),
        EvidenceField("schedule", "Schedule", EvidenceType.TEXT, _H2, hint="Each step with its day."),
        EvidenceField("completion_on", "Done by", EvidenceType.DAY, both("(h)(5)(i)")),
        replace(SIGNED_BY, paragraph=_H2),
        EvidenceField("kept_at", "Where at the site the plan is kept", paragraph=_H2),
    ),
)

RELIEF_REQUESTED = FilingSpec(
    kind=FilingKind.RELIEF_REQUESTED,
    name="Relief from the plan asked for",
    day_label="Request sent on",
    why="Where the appliance is shown not to exceed the rate any more, the plan need not be carried out, if all "
    "identified leaks are repaired within a year of it.",
    paragraph=_RELIEF,
    needs_rules=(US_FEDERAL,),
    summary=("repairs_done_by",),
    fields=(
        EvidenceField(
            "shown_by",
            "How it is shown that the leak rate isn’t exceeded any more",
            EvidenceType.TEXT,
            _RELIEF,
        ),
        EvidenceField(
            "leaks_will_be_repaired",
            "The owner or operator agrees in writing to repair all identified leaks within the time",
            EvidenceType.YES,
            _RELIEF,
        ),
        EvidenceField("repairs_done_by", "All leaks repaired by", EvidenceType.DAY, _RELIEF),
        replace(SIGNED_BY, paragraph=_RELIEF),
        SENT_BY,
        RECEIPT_NUMBER,
    ),
)

PLAN_EXTENSION = FilingSpec(
    kind=FilingKind.PLAN_EXTENSION,
    name="More time for the retrofit or retirement",
    day_label="Request sent on",
    why="More time than the plan’s year, on one of the grounds of the paragraph.",
    paragraph=_I,
    needs_rules=(US_FEDERAL,),
    summary=("basis", "until"),
    fields=(
        EvidenceField(
            "basis",
            "Ground",
            EvidenceType.CHOICE,
            _I,
            choices=(
                (_CUSTOM, "Industrial process: a part or appliance is built to order"),
                (_REGULATION, "Industrial process: another regulation delays it"),
                (_RADIOLOGICAL, "Industrial process: radiological contamination"),
                (_EXEMPT, "The replacement uses an exempt substitute"),
                (_OWNED, "Federally owned"),
            ),
        ),
        EvidenceField("supplier", "Supplier", paragraph=_I, only=("basis", (_CUSTOM,))),
        EvidenceField(
            "quoted_weeks", "Delivery quoted, in weeks", EvidenceType.NUMBER, _I, only=("basis", (_CUSTOM,))
        ),
        EvidenceField(
            "delivery_expected_on", "Delivery expected on", EvidenceType.DAY, _I, only=("basis", (_CUSTOM,))
        ),
        EvidenceField(
            "regulation", "The regulation, and its authority", paragraph=_I, only=("basis", (_REGULATION,))
        ),
        EvidenceField(
            "radiological_conditions",
            "The contamination, and why it keeps people from the work",
            EvidenceType.TEXT,
            _I,
            only=("basis", (_RADIOLOGICAL,)),
        ),
        EvidenceField(
            "substitute", "The exempt substitute of the replacement", paragraph=_I, only=("basis", (_EXEMPT,))
        ),
        EvidenceField("federal_agency", "Which agency owns it", paragraph=_I, only=("basis", (_OWNED,))),
        EvidenceField("until", "More time until", EvidenceType.DAY, _I),
        EvidenceField("reasons", "Why more time is needed", EvidenceType.TEXT, _I),
        EvidenceField(
            "plan_to_finish", "How the retrofit or retirement is going to be finished", EvidenceType.TEXT, _I
        ),
        replace(SIGNED_BY, paragraph=_I, only=_ASKED, required_by=(US_FEDERAL_HFC,)),
        replace(SENT_BY, only=_ASKED),
        replace(RECEIPT_NUMBER, only=_ASKED),
    ),
)

AGENCY_ANSWER = FilingSpec(
    kind=FilingKind.AGENCY_ANSWER,
    name="The agency answered",
    day_label="Answered on",
    why="What the agency says of a request for relief or for more time; silence counts as approval. Refusing more time "
    "for a repair or test puts its due date back.",
    paragraph=both("(f)(4), (h)(5)(ii), (i)"),
    needs_rules=(US_FEDERAL,),
    summary=("answer", "agency"),
    fields=(
        EvidenceField(
            "answer",
            "Answer",
            EvidenceType.CHOICE,
            choices=(("granted", "Granted"), ("refused", "Refused")),
        ),
        EvidenceField("agency", "Who answered"),
        EvidenceField("reference_number", "Number of its letter", is_required=False),
        EvidenceField("conditions", "What it says", EvidenceType.TEXT, is_required=False),
    ),
)
