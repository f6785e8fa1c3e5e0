"""Visits of the demo firm that come with the logs of their scales, and the logs: static files, as scales write them."""

from dataclasses import replace
from pathlib import Path

from jobs.models import Appliance, Cylinder, CylinderKind
from jobs.services.log_entries import LogAnswers
from jobs.services.log_readings import log_entry
from jobs.services.submission import TransferEntry
from portal.demo.visits import Visit

LOGS = Path(__file__).resolve().parents[2] / "fixtures" / "demo" / "logs"

#: One visit each to the quiet appliances with the largest charges, which these masses hardly touch.
QUIET = "quiet"
LOGGED_VISITS = (
    Visit(
        6,
        "Filter drier changed: charge recovered from the isolated part and returned.",
        removed_lb="6.0",
        added_lb="6.0",
        evacuates=True,
        logs=("recovery-6.0-lb.csv", "return-6.0-lb.csv"),
    ),
    Visit(4, "Charge trimmed to the sight glass.", added_lb="2.5", logs=("charge-2.5-lb.csv",)),
    # The technician read 3.2 off a scale whose zero had shifted; the log knows better.
    Visit(2, "Charge trimmed after the coil was cleaned.", added_lb="3.2", logs=("charge-2.9-lb.csv",)),
)


def logged_visits(
    appliances: list[tuple[Appliance, str]], cylinders: list[Cylinder]
) -> list[tuple[Appliance, Visit]]:
    """The visits with logs, each to an appliance of its own.

    Args:
        appliances: the firm's, each with its story.
        cylinders: the firm's; what no refillable one holds can't be charged.
    """
    supplied = {cylinder.refrigerant for cylinder in cylinders if cylinder.kind == CylinderKind.REFILLABLE}
    quiet = [
        appliance for appliance, story in appliances if story == QUIET and appliance.refrigerant in supplied
    ]
    largest = sorted(quiet, key=lambda appliance: (-appliance.full_charge_mg, appliance.pk))
    return list(zip(largest, LOGGED_VISITS, strict=False))


def with_logs(entries: list[TransferEntry], visit: Visit) -> list[TransferEntry]:
    """Put a visit's logs beside its transfers, in their order."""
    if not visit.logs:
        return entries
    return [replace(entry, log=_log(name, entry)) for entry, name in zip(entries, visit.logs, strict=True)]


def _log(name: str, entry: TransferEntry) -> object:
    return log_entry(
        name=name,
        content=(LOGS / name).read_bytes(),
        answers=LogAnswers(),
        direction=entry.direction,
        division_mg=entry.scale.division_mg if entry.scale else None,
        field="log",
    )
