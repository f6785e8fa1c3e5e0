"""What reading a log came to, kept with it: a form reads it again at every change of its row, the file is read once."""

import json
from dataclasses import asdict
from typing import Any

from jobs.models import WeighLog, WeighLogUpload
from jobs.services.log_entries import LogAnswers, WeighedLog
from jobs.services.log_readings import direction_of, log_weigh
from jobs.services.log_uploads import answers_of
from jobs.weighing import InvalidLog, UnclearLog
from jobs.weighing.version import WEIGHING_VERSION

# More sets of answers than a person tries on one log.
OUTCOMES_MAX = 8


def shelved_weigh(
    shelved: WeighLogUpload | WeighLog, answers: LogAnswers, *, direction: str, division_mg: int | None
) -> WeighedLog:
    """Weigh a log that a form names; what was asked once is answered from what is kept with it.

    Args:
        shelved: an upload, or the log of the record that is being amended.
        answers: what the file leaves open.
        direction: ``in`` or ``out`` of the appliance; whichever the log shows if empty.
        division_mg: the scale's division, if known.

    Raises:
        UnclearLog: the unit or a column is to be asked for.
        InvalidLog: it can't be read, or the weight moved the other way.
    """
    if isinstance(shelved, WeighLog):
        if found := _filed(shelved, answers, direction, division_mg):
            return found
        return log_weigh(shelved.file.content, answers, direction=direction, division_mg=division_mg)
    asked = [
        WEIGHING_VERSION,
        answers.unit,
        answers.time_column,
        answers.weight_column,
        direction,
        division_mg,
    ]
    key = json.dumps(asked)
    if key not in shelved.outcomes:
        _keep(shelved, key, _outcome(shelved.content, answers, direction, division_mg))
    return _answer(shelved.outcomes[key])


def _filed(log: WeighLog, answers: LogAnswers, direction: str, division_mg: int | None) -> WeighedLog | None:
    """What is stored of a filed log, if it is what is asked for."""
    reading, transfer = getattr(log, "reading", None), log.transfer
    asked = (WEIGHING_VERSION, answers, direction, division_mg)
    if reading is None or asked != (
        reading.engine_version,
        answers_of(log),
        direction_of(transfer),
        transfer.scale.division_mg if transfer.scale else None,
    ):
        return None
    return WeighedLog(reading.net_mg, reading.uncertainty_mg, reading.figures, reading.curve)


def _keep(upload: WeighLogUpload, key: str, outcome: dict[str, Any]) -> None:
    kept = upload.outcomes if len(upload.outcomes) < OUTCOMES_MAX else {}
    upload.outcomes = {**kept, key: outcome}
    upload.save(update_fields=["outcomes"])


def _outcome(content: bytes, answers: LogAnswers, direction: str, division_mg: int | None) -> dict[str, Any]:
    try:
        weighed = log_weigh(content, answers, direction=direction, division_mg=division_mg)
    except InvalidLog as error:
        said = {"field": error.field, "value": error.value, "expected": error.expected}
        if isinstance(error, UnclearLog):
            return {"question": {**said, "first_rows": error.first_rows}}
        return {"problem": {**said, "line": error.line}}
    return {"weighed": asdict(weighed)}


def _answer(outcome: dict[str, Any]) -> WeighedLog:
    if question := outcome.get("question"):
        raise UnclearLog(**question)
    if problem := outcome.get("problem"):
        raise InvalidLog(**problem)
    return WeighedLog(**outcome["weighed"])
