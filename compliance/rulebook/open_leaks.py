"""Which named leaks are still open, and whether a verification test covers them all."""

from dataclasses import dataclass, field

from compliance.rulebook.facts import Fact, FactKind


@dataclass
class OpenLeaks:
    """Leaks named by additions, repairs and tests, and which of them passed which test.

    A fact without a name speaks of all leaks. An appliance whose leaks are never named has nothing to keep apart.
    Source: 40 CFR 82.157(e), 84.106(e): verification tests are done for each leak that was repaired.
    """

    known: set[str] = field(default_factory=set)
    repaired: set[str] = field(default_factory=set)
    passed_initial: set[str] = field(default_factory=set)
    passed_follow_up: set[str] = field(default_factory=set)

    def note(self, fact: Fact) -> None:
        """Takes in an addition or a repair: its leak is open, and must be tested anew."""
        if fact.leak is None:
            if fact.kind is FactKind.REPAIR:
                self.repaired |= self.known
            return
        self.known.add(fact.leak)
        if fact.kind is FactKind.REPAIR:
            self.repaired.add(fact.leak)
            self.passed_initial.discard(fact.leak)
            self.passed_follow_up.discard(fact.leak)

    @property
    def without_repair(self) -> tuple[str, ...]:
        """The named leaks that no repair has named since they were found or last failed a test."""
        return tuple(sorted(self.known - self.repaired))

    def take_test(self, fact: Fact) -> tuple[str, ...]:
        """Takes in a test and returns the leaks that are still open after it; none if every one has passed.

        A failed test returns what it was done for (``("",)`` where it named no leak), so that it never looks passed.
        """
        is_follow_up = fact.kind is FactKind.FOLLOW_UP_VERIFICATION_TEST
        passed = self.passed_follow_up if is_follow_up else self.passed_initial
        if fact.leak is not None:
            self.known.add(fact.leak)
        tested = self.known if fact.leak is None else {fact.leak}
        if not fact.passed:
            self.repaired -= tested
            self.passed_initial -= tested
            self.passed_follow_up -= tested
            return (fact.leak or "",)
        passed |= tested
        still_open = tuple(sorted(self.known - passed))
        if is_follow_up and not fact.all_leaks:
            return still_open or ("",)
        if is_follow_up and not still_open:
            self.known.clear()
            self.repaired.clear()
            self.passed_initial.clear()
            self.passed_follow_up.clear()
        return still_open
