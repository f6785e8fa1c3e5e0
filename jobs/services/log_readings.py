"""What a scale's log says: read and weighed, with what a person answered, and in words where it can't be."""

from collections.abc import Mapping
from typing import Any, Literal

from jobs.errors import Refusal, SubmissionRefused
from jobs.models import MassUnit, Transfer, WeighLog, WeighLogReading
from jobs.services.log_entries import LogAnswers, LogEntry, WeighedLog
from jobs.services.submission import INTO_APPLIANCE, OUT_OF_APPLIANCE
from jobs.weighing import InvalidLog, Weighing, curve, read_log, weigh
from jobs.weighing.comparison import MassComparison, compare_masses, last_digit_mg
from jobs.weighing.log import WeighLog as ReadLog
from jobs.weighing.version import WEIGHING_VERSION

# The cylinder stands on the scale: what leaves the appliance makes it heavier.
SCALE_DIRECTION: Mapping[str, Literal["in", "out"]] = {INTO_APPLIANCE: "out", OUT_OF_APPLIANCE: "in"}
UNITS = (MassUnit.KG, MassUnit.G, MassUnit.LB, MassUnit.OZ)
CURVE_POINTS = 600


def log_weigh(
    content: bytes, answers: LogAnswers, *, direction: str = "", division_mg: int | None = None
) -> WeighedLog:
    """Read a log and weigh what it shows.

    Args:
        content: the file's bytes.
        answers: what the file leaves open.
        direction: ``in`` or ``out`` of the appliance; whichever the log shows unless given.
        division_mg: the scale's division, if known.

    Raises:
        UnclearLog: the unit or a column is to be asked for.
        InvalidLog: it can't be read, or the weight moved the other way.
    """
    log = read_log(content, unit=answers.unit or None, columns=answers.columns)
    weighing = weigh(log, direction=SCALE_DIRECTION.get(direction, "auto"), division_mg=division_mg)
    return WeighedLog(
        net_mg=int(weighing.net_mg),
        uncertainty_mg=round(weighing.uncertainty_mg),
        figures=_figures(log, weighing),
        curve=_curve(log, weighing),
    )


def log_refusal(field: str, name: str, error: InvalidLog) -> Refusal:
    """What is wrong with a log, at a form's field."""
    if error.field == "direction":
        return direction_refusal(field, name, error.value)
    where = "" if error.field in ("file", "unit") else f" ({error.field})"
    return Refusal(field, error.value, f"Expected {error.expected}{where}.")


def direction_refusal(field: str, name: str, fitting: str) -> Refusal:
    """What is wrong with a log whose weight didn't move the way of its transfer; ``fitting`` as the scale sees it."""
    way, other, went = ("rises", "fell", "out of") if fitting == "in" else ("falls", "rose", "into")
    expected = (
        f"Expected a log in which the weight {way}, since refrigerant went {went} the appliance; "
        f"in this one it {other} or stood still."
    )
    return Refusal(field, name, expected)


def log_entry(
    *, name: str, content: bytes, answers: LogAnswers, direction: str, division_mg: int | None, field: str
) -> LogEntry:
    """Make a log into what a transfer is filed with.

    Raises:
        SubmissionRefused: at ``field``, since it can't be read or weighed as it stands.
    """
    try:
        weighed = log_weigh(content, answers, direction=direction, division_mg=division_mg)
    except InvalidLog as error:
        raise SubmissionRefused([log_refusal(field, name, error)]) from error
    return LogEntry(name, content, answers, weighed)


def mass_against_log(
    *, mass_mg: int, entered_value: str, entered_unit: str, weighed: WeighedLog, division_mg: int | None
) -> MassComparison:
    """Hold a mass as typed against the log's."""
    return compare_masses(
        recorded_mg=mass_mg,
        digit_mg=last_digit_mg(entered_value, entered_unit),
        logged_mg=weighed.net_mg,
        uncertainty_mg=float(weighed.uncertainty_mg),
        division_mg=division_mg,
    )


def reading_of(log: WeighLog, transfer: Transfer, weighed: WeighedLog) -> WeighLogReading:
    """The stored answer of a filed log, unsaved."""
    comparison = mass_against_log(
        mass_mg=transfer.mass_mg,
        entered_value=transfer.entered_value,
        entered_unit=transfer.entered_unit,
        weighed=weighed,
        division_mg=transfer.scale.division_mg if transfer.scale else None,
    )
    return WeighLogReading(
        log=log,
        engine_version=WEIGHING_VERSION,
        net_mg=weighed.net_mg,
        uncertainty_mg=weighed.uncertainty_mg,
        difference_mg=comparison.difference_mg,
        tolerance_mg=comparison.tolerance_mg,
        is_beyond_tolerance=comparison.is_beyond,
        figures=dict(weighed.figures),
        curve=dict(weighed.curve),
    )


def direction_of(transfer: Transfer) -> str:
    """``in`` or ``out`` of the appliance."""
    return INTO_APPLIANCE if transfer.to_holder.appliance_id else OUT_OF_APPLIANCE


def weigh_filed(log: WeighLog) -> WeighedLog:
    """Weigh a filed log by the present engine.

    Args:
        log: with its file, its transfer, holders and scale.

    Raises:
        InvalidLog: the present engine can't read it.
    """
    transfer = log.transfer
    return log_weigh(
        log.file.content,
        LogAnswers(log.unit, log.time_column, log.weight_column),
        direction=direction_of(transfer),
        division_mg=transfer.scale.division_mg if transfer.scale else None,
    )


def _figures(log: ReadLog, weighing: Weighing) -> dict[str, Any]:
    return {
        "samples": log.samples,
        "starts_at": weighing.starts_label,
        "ends_at": weighing.ends_label,
        "time_kind": log.time_kind,
        "unit": log.unit,
        "direction": weighing.direction,
        "gross_start_mg": int(weighing.gross_start_mg),
        "gross_end_mg": int(weighing.gross_end_mg),
        "duration_s": float(weighing.duration_s),
        "mean_rate_kg_per_min": float(weighing.mean_rate_kg_per_min),
        "because": weighing.because,
        "anomalies": [
            {"kind": row.kind, "from_s": float(row.from_s), "to_s": float(row.to_s), "because": row.because}
            for row in weighing.anomalies
        ],
        "plateaus": [
            {
                "from_s": float(row.from_s),
                "to_s": float(row.to_s),
                "level_mg": int(row.level_mg),
                "spread_mg": int(row.spread_mg),
            }
            for row in weighing.plateaus
        ],
        "phases": [
            {"kind": row.kind, "from_s": float(row.from_s), "to_s": float(row.to_s)}
            for row in weighing.phases
        ],
    }


def _curve(log: ReadLog, weighing: Weighing) -> dict[str, list[float]]:
    """The thinned curve, rounded to what a drawing shows; the flow counts up whichever way it goes."""
    drawn = curve(log, weighing, points=CURVE_POINTS)
    sign = -1 if weighing.direction == "out" else 1
    return {
        "times_s": [round(value, 1) for value in drawn.times_s],
        "weights_mg": [round(value) for value in drawn.weights_mg],
        "corrected_mg": [round(value) for value in drawn.corrected_mg],
        "flow_kg_per_min": [round(sign * value, 5) for value in drawn.rate_kg_per_min],
    }
