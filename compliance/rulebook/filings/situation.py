"""Where an appliance stands in law on the day of a filing: what the conditions of a paragraph are held against."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from functools import cached_property

from compliance.rulebook.assess import Assessment, assess
from compliance.rulebook.facts import Appliance, Fact, FactKind
from compliance.rulebook.filings.specs import Paragraph
from compliance.rulebook.holding import AskedDay
from compliance.rulebook.results import Obligation, ObligationKind, Status
from compliance.rulebook.tables import Row, load_tables
from compliance.rulebook.timeline import Timeline, build_timeline

STANDARD_ATMOSPHERE_KPA = Decimal("101.325")
RUNNING = (Status.OPEN, Status.OVERDUE, Status.SUSPENDED)


@dataclass(frozen=True)
class Situation:
    """An appliance with all its facts but the filing, on the filing's day; later facts don't count for that day.

    ``today`` is the day on which it is filed; ``rules`` are the rule sets of the site; ``atmosphere_kpa`` is the air's
    pressure there.
    """

    appliance: Appliance
    facts: tuple[Fact, ...]
    on: date
    today: date
    rules: tuple[str, ...]
    atmosphere_kpa: Decimal = STANDARD_ATMOSPHERE_KPA

    @cached_property
    def then(self) -> Assessment:
        """What the rules made of the appliance at the end of the filing's day."""
        return assess(self.appliance, self.facts, as_of=self.on, rules=self.rules)

    @cached_property
    def timeline(self) -> Timeline:
        """The facts up to the filing's day, in order."""
        return build_timeline(self.appliance, self.facts, AskedDay.of(self.on))

    @property
    def applying(self) -> tuple[str, ...]:
        """The rules that applied."""
        return tuple(verdict.rule for verdict in self.then.applies)

    def cited(self, paragraph: Paragraph) -> str:
        """A paragraph as printed, of the sections that apply."""
        return paragraph.cited(self.applying)

    def running(self, *kinds: ObligationKind) -> list[Obligation]:
        """What was owed of these kinds, in time or late."""
        return [row for row in self.then.obligations if row.kind in kinds and row.status in RUNNING]

    def before(self, *kinds: FactKind) -> list[Fact]:
        """The facts of these kinds up to the day, in order."""
        return self.timeline.of_kind(*kinds)

    def row(self, key: str) -> Row | None:
        """A number of the law in force on the day, of the first rule that applies and has it."""
        return next((row for rule in self.applying if (row := self.row_of(rule, key))), None)

    def row_of(self, rule: str, key: str) -> Row | None:
        """The same, of one rule."""
        return load_tables().find(rule, key, on=self.on, category=self.appliance.category)

    def after(self, fact: Fact) -> Assessment:
        """What the rules would have made of it on the day with the filing."""
        return assess(self.appliance, [*self.facts, fact], as_of=self.on, rules=self.rules)

    def new_warnings(self, fact: Fact) -> list[str]:
        """What the rules would say today against the filing, or against what was filed after it."""
        before, after = self._warnings_today(fact)
        return [warning for warning in after if warning not in before]

    def warnings_without(self, fact: Fact) -> list[str]:
        """What the rules would say today of later filings if this one, which stands, were taken away."""
        without, with_it = self._warnings_today(fact)
        return [warning for warning in without if warning not in with_it]

    def _warnings_today(self, fact: Fact) -> tuple[tuple[str, ...], tuple[str, ...]]:
        """The rules' warnings of today without the filing, and with it."""
        without, with_it = (
            assess(self.appliance, facts, as_of=self.today, rules=self.rules)
            for facts in (self.facts, (*self.facts, fact))
        )
        return without.warnings, with_it.warnings


def named(kinds: Iterable[str]) -> str:
    """Kinds of obligation in words, such as “repair or initial verification test”."""
    return " or ".join(kind.replace("_", " ") for kind in kinds)
