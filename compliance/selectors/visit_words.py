"""What was done on a visit, in short sentences, in the order in which it is done."""

from collections.abc import Iterator

from compliance.rulebook.masses import format_mass
from jobs.models import ServiceEvent, Statement, VerificationTest


def what_was_done(event: ServiceEvent) -> list[str]:
    """The sentences of one visit that carries its rows; its description of the work where nothing else was recorded."""
    return list(_sentences(event)) or [event.work_done]


def _sentences(event: ServiceEvent) -> Iterator[str]:
    for transfer in event.transfers.all():
        if transfer.reverses_id is None:
            is_addition = transfer.to_holder.appliance_id == event.appliance_id
            mass = f"{format_mass(transfer.mass_mg)} of {transfer.refrigerant}"
            reason = "" if transfer.reason == "service" else f" ({transfer.get_reason_display().lower()})"
            leak = f" for {transfer.leak}" if transfer.leak else ""
            yield f"{'Added' if is_addition else 'Took out'} {mass}{leak}{reason}."
    inspection = getattr(event, "leak_inspection", None)
    if inspection is not None:
        where = "all visible and accessible parts" if inspection.is_complete else "a part of the appliance"
        yield f"Inspected {where} for leaks: {inspection.methods.rstrip('.')}."
    for finding in event.leak_findings.all():
        yield f"Found {finding.leak}: {finding.part}, {finding.location}."
    for repair in event.repairs.all():
        yield f"Repaired {repair.leak}: {repair.work_done.rstrip('.')}."
    yield from (_test(test) for test in event.verification_tests.all())
    yield from (_statement(statement) for statement in event.statements.all())


def _test(test: VerificationTest) -> str:
    verdict = "passed" if test.is_passed else "failed"
    return f"{test.get_kind_display()} of {test.leak}: {verdict}."


def _statement(statement: Statement) -> str:
    words = statement.get_kind_display()
    if refrigerant := statement.details.get("refrigerant"):
        words += f": {refrigerant}"
    if mass_mg := statement.details.get("full_charge_mg"):
        words += f", full charge {format_mass(mass_mg)}"
    if year := statement.details.get("year"):
        words += f" for {year}"
    return f"{words}."
