"""A charge estimate as a document of plain values, so that it can be kept with what it rests on and reckoned again."""

from collections.abc import Mapping
from dataclasses import asdict
from typing import Any

from jobs.physics.charge_estimate import ChargeEstimate, ChargeInputs, Line, Vessel
from jobs.physics.errors import InvalidInput
from jobs.physics.quantities import is_number

_EXPECTED = "the parts of an appliance as an estimate has written them"
_MOST_PARTS = 40
_LONGEST_NAME = 60


def inputs_document(inputs: ChargeInputs) -> dict[str, Any]:
    """All that an estimate rests on, as plain values; the names carry the units."""
    return {
        "refrigerant": inputs.refrigerant,
        "vessels": [asdict(vessel) for vessel in inputs.vessels],
        "lines": [asdict(line) for line in inputs.lines],
    }


def estimate_document(estimate: ChargeEstimate) -> dict[str, Any]:
    """An estimate with its inputs, parts, model and accuracy, as plain values."""
    return {
        **inputs_document(estimate.inputs),
        "parts": [asdict(part) for part in estimate.parts],
        "mass_mg": estimate.mass_mg,
        "lowest_mg": estimate.lowest_mg,
        "highest_mg": estimate.highest_mg,
        "model": estimate.model,
        "accuracy": estimate.accuracy,
    }


def inputs_of_document(document: Any) -> ChargeInputs:
    """Reads what :func:`inputs_document` wrote.

    Raises:
        InvalidInput: anything else; the sizes themselves are checked by the estimate.
    """
    if not isinstance(document, Mapping) or document.keys() != {"refrigerant", "vessels", "lines"}:
        raise InvalidInput("charge_inputs", document, _EXPECTED)
    vessels, lines = document["vessels"], document["lines"]
    if not (isinstance(vessels, list) and isinstance(lines, list) and len(vessels + lines) <= _MOST_PARTS):
        raise InvalidInput("charge_inputs", document, _EXPECTED)
    return ChargeInputs(
        refrigerant=document["refrigerant"],
        vessels=tuple(Vessel(**_part(vessel, Vessel)) for vessel in vessels),
        lines=tuple(Line(**_part(line, Line)) for line in lines),
    )


def _part(part: Any, kind: type[Vessel | Line]) -> dict[str, Any]:
    fields = kind.__dataclass_fields__
    if not isinstance(part, Mapping) or part.keys() != fields.keys():
        raise InvalidInput("charge_inputs", part, _EXPECTED)
    for name, value in part.items():
        is_right = {
            "name": isinstance(value, str) and len(value) <= _LONGEST_NAME,
            "is_liquid": isinstance(value, bool),
        }.get(name, is_number(value))
        if not is_right:
            raise InvalidInput("charge_inputs", value, _EXPECTED)
    return dict(part)
