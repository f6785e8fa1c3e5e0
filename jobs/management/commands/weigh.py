"""``manage.py weigh``: the net mass in a scale's log, as JSON. No database is touched."""

import sys
from argparse import ArgumentParser
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from compliance.rulebook.masses import mass_answer
from jobs.management.json_command import JsonCommand
from jobs.weighing import Anomaly, Columns, InvalidLog, Weighing, read_log, weigh

_RATE_DECIMALS = 4


class Command(JsonCommand):
    help = "Finds the net mass in a scale's log, with its uncertainty and what was odd about the log (JSON)."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument(
            "log", help="the log as text, separated by commas, semicolons or tabs; - for standard input"
        )
        parser.add_argument("--unit", help="kg, g, lb or oz, if the log doesn't say")
        parser.add_argument(
            "--direction",
            default="auto",
            help="as the scale sees it: in, out or auto; a cylinder that gains: in",
        )
        parser.add_argument("--time-column", help="the number of the column with the time, counted from 1")
        parser.add_argument(
            "--weight-column", help="the number of the column with the weight, counted from 1"
        )

    def answer(self, options: Mapping[str, Any]) -> Mapping[str, Any]:
        columns = Columns(_column(options, "time_column"), _column(options, "weight_column"))
        log = read_log(_data(options["log"]), unit=options["unit"], columns=columns)
        return _answer(weigh(log, direction=options["direction"]), is_elapsed=log.time_kind == "elapsed")


def _data(path: str) -> bytes:
    if path == "-":
        return sys.stdin.buffer.read()
    try:
        return Path(path).read_bytes()
    except OSError as error:
        raise InvalidLog("log", path, f"a file that can be read ({error.strerror})") from error


def _column(options: Mapping[str, Any], field: str) -> int | None:
    text = options[field]
    if text is None:
        return None
    if not (text.isascii() and text.isdigit() and int(text) > 0):
        raise InvalidLog(field, text, "the number of a column, counted from 1")
    return int(text) - 1


def _answer(weighing: Weighing, *, is_elapsed: bool) -> dict[str, Any]:
    def moment(label: str) -> str | float:
        return float(label.replace(",", ".")) if is_elapsed else label

    def anomaly(found: Anomaly) -> dict[str, Any]:
        return {
            "kind": found.kind,
            "from": moment(found.from_label),
            "to": moment(found.to_label),
            "because": found.because,
        }

    return {
        "samples": weighing.samples,
        "starts_at": weighing.starts_at.isoformat() if weighing.starts_at else moment(weighing.starts_label),
        "ends_at": weighing.ends_at.isoformat() if weighing.ends_at else moment(weighing.ends_label),
        "gross_start": mass_answer(weighing.gross_start_mg),
        "gross_end": mass_answer(weighing.gross_end_mg),
        "net": mass_answer(weighing.net_mg),
        "uncertainty": mass_answer(weighing.uncertainty_mg),
        "direction": weighing.direction,
        "duration_s": weighing.duration_s,
        "mean_rate_kg_per_min": round(weighing.mean_rate_kg_per_min, _RATE_DECIMALS),
        "flow_from_s": weighing.flow_from_s,
        "flow_to_s": weighing.flow_to_s,
        "division": mass_answer(weighing.division_mg),
        "anomalies": [anomaly(found) for found in weighing.anomalies],
        "plateaus": [
            {"from_s": plateau.from_s, "to_s": plateau.to_s, "level": mass_answer(plateau.level_mg)}
            for plateau in weighing.plateaus
        ],
        "phases": [
            {"kind": phase.kind, "from_s": phase.from_s, "to_s": phase.to_s} for phase in weighing.phases
        ],
        "because": weighing.because,
    }
