"""What a row of a form shows of its scale's log: what it leaves open, and what it says against the typed mass."""

from dataclasses import dataclass, field

from compliance.rulebook.masses import format_mass, in_unit
from compliance.selectors.log_days import LoggedVisit
from jobs.models import Instrument, Transfer, WeighLogUpload
from jobs.services.entries import EnteredMass
from jobs.services.log_entries import LogAnswers, LogEntry, WeighedLog
from jobs.services.log_outcomes import shelved_weigh
from jobs.services.log_readings import log_refusal, mass_against_log
from jobs.services.log_uploads import LogShelf, answers_of, content_of, log_upload_answer
from jobs.weighing import InvalidLog, UnclearLog
from jobs.weighing.comparison import MassComparison

LOST = (
    "This log is not here any more: an upload is kept for two weeks, for the person who sent it. "
    "Choose the file again."
)
QUESTION_FIELDS = {"unit": "log_unit", "time_column": "log_time_column", "weight_column": "log_weight_column"}


@dataclass
class LogSlot:
    """What a row shows of its log.

    Attributes:
        token: by which the form names it.
        name: of the file.
        unit: in which its masses are shown.
        entry: what the transfer is filed with, once the log is clear.
        question: what is to be asked about it.
        comparison: the typed mass against the log's, once both are there.
        problems: what is wrong: (field, message).
        answers: what was answered.
        visit: the visit whose transfer it is to prove, if it is known.
        filed: the transfer, if it is filed already and its mass with it.
    """

    token: str = ""
    name: str = ""
    unit: str = "lb"
    entry: LogEntry | None = None
    question: UnclearLog | None = None
    comparison: MassComparison | None = None
    problems: list[tuple[str, str]] = field(default_factory=list)
    answers: LogAnswers = field(default_factory=LogAnswers)
    visit: LoggedVisit | None = None
    filed: Transfer | None = None

    @property
    def weighed(self) -> WeighedLog | None:
        return self.entry.weighed if self.entry else None

    @property
    def net(self) -> str:
        """The log's mass as the form takes it."""
        return str(in_unit(self.weighed.net_mg, self.unit))

    @property
    def columns(self) -> list[tuple[int, str]]:
        """The columns that the file has, each with what stands in its first row."""
        rows = self.question.first_rows if self.question else []
        count = max((len(row) for row in rows), default=0)
        heads = [
            next((row[place] for row in rows if place < len(row) and row[place]), "")
            for place in range(count)
        ]
        return [
            (place, f"{place + 1}: {head}" if head else str(place + 1)) for place, head in enumerate(heads)
        ]

    @property
    def difference(self) -> str:
        """By how much the typed mass is off, in words."""
        off_mg = self.comparison.difference_mg
        return f"{format_mass(abs(off_mg), self.unit)} {'more' if off_mg > 0 else 'less'}"

    @property
    def tolerance(self) -> str:
        return format_mass(self.comparison.tolerance_mg, self.unit)

    @property
    def uncertainty(self) -> str:
        return format_mass(self.weighed.uncertainty_mg, self.unit)

    @property
    def other_day(self) -> str:
        """What to say of a log of another day than the visit's, if it is one."""
        return self.visit.other_day(self.weighed.figures) if self.visit and self.weighed else ""


def fill_slot(
    shelf: LogShelf | None,
    token: str,
    answers: LogAnswers,
    *,
    direction: str,
    mass: EnteredMass | None,
    scale: Instrument | None,
    unit: str,
    visit: LoggedVisit | None,
) -> LogSlot:
    """Read the log that a row names, and hold the typed mass against it; what is unclear is asked for."""
    slot = LogSlot(token=token, unit=unit, visit=visit)
    if not token:
        return slot
    shelved = shelf.find(token) if shelf else None
    if shelved is None:
        slot.token = ""
        slot.problems.append(("log_file", LOST))
        return slot
    if answers == LogAnswers():
        answers = answers_of(shelved)
    elif isinstance(shelved, WeighLogUpload):
        log_upload_answer(upload=shelved, answers=answers)
    slot.name, slot.answers = shelved.name, answers
    division_mg = scale.division_mg if scale else None
    try:
        weighed = shelved_weigh(shelved, answers, direction=direction, division_mg=division_mg)
    except UnclearLog as question:
        slot.question = question
        slot.problems.append((QUESTION_FIELDS.get(question.field, "log_file"), _asked(question)))
    except InvalidLog as error:
        slot.problems.append(("log_file", str(log_refusal("log_file", shelved.name, error))))
    else:
        slot.entry = LogEntry(shelved.name, content_of(shelved), answers, weighed)
        if mass:
            slot.comparison = mass_against_log(
                mass_mg=mass.mass_mg,
                entered_value=mass.value,
                entered_unit=mass.unit,
                weighed=weighed,
                division_mg=division_mg,
            )
    return slot


def _asked(question: UnclearLog) -> str:
    value = question.value
    said = value if isinstance(value, str) else ", ".join(filter(None, value or ()))
    given = f" The file says “{said}”." if said else ""
    return f"The file leaves this open: expected {question.expected}.{given}"
