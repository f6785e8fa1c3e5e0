"""What a paper is made of: labelled lines, tables, the case and the rules that it stands for."""

from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from datetime import date

from compliance.rulebook.filings.specs import FilingSpec
from compliance.selectors.papers.kinds import PaperKind
from compliance.selectors.reports.document import Table
from jobs.models import Appliance, CaseFiling


@dataclass(frozen=True)
class Choice:
    """One answer to tick."""

    label: str
    is_chosen: bool


@dataclass(frozen=True)
class PaperLine:
    """One thing that the paragraph asks for, with what the records say of it; blank where they say nothing.

    Attributes:
        label: what is asked.
        answer: in words.
        citation: the paragraph, where it isn't its section's.
        choices: answers to tick, instead of words.
        hint: what goes there, or what the records lack.
        only_for: in which case it is asked, while that is open.
        is_required: whether the paragraph wants it in any case.
        is_long: whether a hand needs several lines for it.
    """

    label: str
    answer: str = ""
    citation: str = ""
    choices: tuple[Choice, ...] = ()
    hint: str = ""
    only_for: str = ""
    is_required: bool = True
    is_long: bool = False

    @property
    def is_blank(self) -> bool:
        """Whether it is left to be filled in by hand."""
        return not self.answer and not any(choice.is_chosen for choice in self.choices)

    @property
    def is_missing(self) -> bool:
        """Whether the paper can't be sent without it: blank, and asked for whatever the rest says."""
        return self.is_blank and self.is_required and not self.only_for

    @property
    def guidance(self) -> str:
        """What is said beside a blank: in which case it is asked for, and what goes there."""
        when = f"Only for: {self.only_for}." if self.only_for else ""
        return " ".join(filter(None, (when, self.hint)))

    @property
    def in_words(self) -> str:
        """The answer, of choices the ticked one."""
        return self.answer or "; ".join(choice.label for choice in self.choices if choice.is_chosen)


@dataclass(frozen=True)
class PaperSection:
    """A heading with its paragraph, lines and tables."""

    title: str
    citation: str = ""
    lines: tuple[PaperLine, ...] = ()
    tables: tuple[Table, ...] = ()


@dataclass(frozen=True)
class FilingPaper:
    """One request, plan or report about one appliance.

    Attributes:
        kind: which paper it is.
        spec: the kind of filing that it becomes once it is signed.
        title: its heading.
        rules: the federal rules under which it is made.
        appliance: as registered.
        as_of: the day up to which records count.
        due_on: by when it is to be made, if a date is running.
        filed: the filing that it prints, if it was filed already.
        notes: what is to be known about it.
        send_to: where it goes, or is kept.
        statement: what the signature stands under.
        signed_by: name and position, if known.
    """

    kind: PaperKind
    spec: FilingSpec
    title: str
    rules: tuple[str, ...]
    appliance: Appliance
    as_of: date
    due_on: date | None
    filed: CaseFiling | None
    sections: tuple[PaperSection, ...]
    send_to: tuple[str, ...]
    statement: str
    signed_by: str = ""
    notes: tuple[str, ...] = field(default=())

    @property
    def slug(self) -> str:
        """Its name in addresses."""
        return self.kind.slug

    @property
    def citation(self) -> str:
        """The paragraph that asks for it."""
        return self.spec.paragraph.cited(self.rules)

    @property
    def lines(self) -> Iterator[PaperLine]:
        """All its lines, each with its paragraph."""
        return (
            replace(line, citation=line.citation or section.citation)
            for section in self.sections
            for line in section.lines
        )

    @property
    def is_due(self) -> bool:
        """Whether its day is still to come; one that has passed is told by a note."""
        return self.filed is None and self.due_on is not None and self.due_on >= self.as_of

    @property
    def missing(self) -> list[str]:
        """What is left to be filled in by hand before it is signed, by the names of the lines."""
        return [line.label for line in self.lines if line.is_missing]

    @property
    def has_open_cases(self) -> bool:
        """Whether lines are asked for by what is chosen in another one."""
        return any(line.is_blank and line.only_for for line in self.lines)
