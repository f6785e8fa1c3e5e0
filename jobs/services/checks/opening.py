"""Checks how a circuit was opened, and that the instruments named are what they are used as.

A level that wasn't reached is no reason to refuse a record of what happened: the record's page tells the officer of it.
Equipment that the law forbids is refused, as work without a certificate is.
"""

from compliance.rulebook.errors import InvalidInput
from compliance.rulebook.evacuation import EvacuationRequirement, required_evacuation
from compliance.rulebook.recovery_machines import machine_findings
from jobs.models import InstrumentKind, OpeningKind, VacuumUnit, WorkOrigin
from jobs.models.instruments import GAUGE_KINDS
from jobs.selectors.evacuation import circuit_of, machine_of
from jobs.services.checks.visit_context import VisitContext
from jobs.services.submission import OUT_OF_APPLIANCE

EVACUATION_RULE = "40 CFR 82.156(a)"
LEAKS_RULE = "40 CFR 82.156(a)(2)"
VACUUM_DECIMALS_MAX = 3


def check_opening(visit: VisitContext) -> None:
    """Check the opening, the reading before it, and the instruments."""
    _check_kind(visit)
    _check_reading(visit)
    _check_instruments(visit)
    _check_machine(visit)


def _check_kind(visit: VisitContext) -> None:
    submission = visit.submission
    kind = submission.opening_kind
    if kind and kind not in OpeningKind.values:
        expected = f"Expected why the circuit was opened: {', '.join(OpeningKind.values)}."
        visit.refusals.add("opening_kind", kind, expected)
    elif kind and not submission.is_circuit_opened:
        expected = (
            "Expected no reason for an opening where the circuit stayed closed, or the opening to be ticked."
        )
        visit.refusals.add("opening_kind", submission.opening_kind, expected)
    elif not kind and submission.is_circuit_opened and _is_own_under_us_law(visit):
        expected = "The circuit was opened: expected why, since the level asked for depends on it."
        visit.refusals.add("opening_kind", None, expected, EVACUATION_RULE)
    if kind == OpeningKind.LEAKING and not submission.opening_note.strip():
        expected = (
            "Expected which leaks kept the level from being reached, or how they would have contaminated it."
        )
        visit.refusals.add("opening_note", "", expected, visit.us_law(LEAKS_RULE))


def _check_reading(visit: VisitContext) -> None:
    submission = visit.submission
    reading = submission.final_vacuum
    if reading is None:
        if submission.is_circuit_opened and submission.origin == WorkOrigin.OWN and _needs_reading(visit):
            expected = "The circuit was opened: expected what the gauge read before it."
            visit.refusals.add("final_vacuum", None, expected, visit.us_law(EVACUATION_RULE))
        return
    exponent = reading.as_tuple().exponent
    if not isinstance(exponent, int) or reading < 0 or -exponent > VACUUM_DECIMALS_MAX:
        expected = f"Expected a reading of zero or more, with at most {VACUUM_DECIMALS_MAX} decimals."
        visit.refusals.add("final_vacuum", reading, expected)
    if submission.final_vacuum_unit not in VacuumUnit.values:
        expected = f"Expected the unit of the reading: {', '.join(VacuumUnit.values)}."
        visit.refusals.add("final_vacuum_unit", submission.final_vacuum_unit, expected)


def _needs_reading(visit: VisitContext) -> bool:
    """Whether the law asks for a level; of a small appliance the mass recovered tells as well."""
    if not visit.is_under_us_law:
        return True
    asked = _requirement(visit)
    if asked is None:
        return True
    has_recovered = any(row.direction == OUT_OF_APPLIANCE for row in visit.submission.transfers)
    return asked.level is not None and not (asked.recovery_pct is not None and has_recovered)


def _requirement(visit: VisitContext) -> EvacuationRequirement | None:
    try:
        return required_evacuation(
            circuit_of(visit.appliance, visit.charge),
            on=visit.submission.happened_on,
            opening=visit.submission.opening_kind or OpeningKind.MAJOR,
        )
    except InvalidInput:
        return None


def _check_instruments(visit: VisitContext) -> None:
    gauge = visit.submission.gauge
    if gauge is not None and gauge.kind not in GAUGE_KINDS:
        visit.refusals.add("gauge", gauge, "Expected a gauge.")
    for position, entry in enumerate(visit.submission.transfers):
        if entry.scale is not None and entry.scale.kind != InstrumentKind.SCALE:
            visit.refusals.add(f"transfers-{position}-scale", entry.scale, "Expected a scale.")


def _check_machine(visit: VisitContext) -> None:
    machine = visit.submission.recovery_machine
    if machine is None or not _is_own_under_us_law(visit):
        return
    findings = machine_findings(
        machine_of(machine), full_charge_mg=visit.charge.full_charge_mg, on=visit.submission.happened_on
    )
    for finding in findings:
        if finding.forbids:
            visit.refusals.add("recovery_machine", machine, finding.because, finding.citation)


def _is_own_under_us_law(visit: VisitContext) -> bool:
    return visit.submission.origin == WorkOrigin.OWN and visit.is_under_us_law
