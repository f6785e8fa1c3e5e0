"""What a browser sends from the event form: the visit's boxes, and rows under their management forms."""

import uuid
from collections.abc import Mapping, Sequence
from typing import Any

from tests.compliance.events.scene import TODAY, Scene

ROWS = ("transfers", "leaks", "repairs", "tests", "statements")
Row = Mapping[str, Any]


def visit_data(scene: Scene, rows: Mapping[str, Sequence[Row]] | None = None, **boxes: Any) -> dict[str, Any]:
    """A service visit of today by the scene's technician; ``boxes`` replace its own, ``rows`` fill the formsets.

    After the rows given, each formset holds two spare ones as the page shows them without JavaScript.
    """
    data = {
        "submission_id": str(uuid.uuid4()),
        "happened_on": TODAY.isoformat(),
        "origin": "own",
        "technician": scene.technician.pk,
        "work_kinds": ["service"],
        "work_done": "Filter drier changed, charge trimmed.",
        "is_inspection_complete": "on",
        "final_vacuum_unit": "micron",
    }
    for name in ROWS:
        given = list((rows or {}).get(name, ()))
        data |= row_data(name, [*given, {}, {}])
    data |= boxes
    return {name: value for name, value in data.items() if value is not None}


def row_data(name: str, rows: Sequence[Row]) -> dict[str, Any]:
    """The rows of one formset; every transfer carries what its page's choices stand at."""
    standing = {"direction": "in", "reason": "service", "mass_unit": "lb"} if name == "transfers" else {}
    data: dict[str, Any] = {f"{name}-TOTAL_FORMS": len(rows), f"{name}-INITIAL_FORMS": 0}
    for place, row in enumerate(rows):
        data |= {f"{name}-{place}-{box}": value for box, value in {**standing, **row}.items()}
    return data


def addition(scene: Scene, pounds: str, **boxes: Any) -> Row:
    """A transfer from the supply cylinder into the appliance."""
    return {"direction": "in", "cylinder": scene.supply.pk, "mass_value": pounds, **boxes}


def removal(scene: Scene, pounds: str, **boxes: Any) -> Row:
    """A transfer out of the appliance into the recovery cylinder."""
    return {"direction": "out", "cylinder": scene.recovery.pk, "mass_value": pounds, **boxes}
