"""Which leaks are known by name, and which of them passed which test: a test passes when every one of them has."""

from tests.oracle.records import Fact

INITIAL, FOLLOW_UP = "initial_verification_test", "follow_up_verification_test"


class NamedLeaks:
    """Leaks in the order they became known; what names none speaks of all of them (82.157(e), 84.106(e))."""

    def __init__(self) -> None:
        self.names: set[str] = set()
        self.passed: dict[str, set[str]] = {INITIAL: set(), FOLLOW_UP: set()}

    def add(self, fact: Fact) -> None:
        """An addition or repair that names a leak; a repair has to be tested anew."""
        if "leak" in fact.detail:
            self.names.add(fact.detail["leak"])
            if fact.kind == "repair":
                for passed in self.passed.values():
                    passed.discard(fact.detail["leak"])

    def test(self, fact: Fact) -> bool:
        """Takes in a test; says whether with it every leak has passed its kind."""
        if "leak" in fact.detail:
            self.names.add(fact.detail["leak"])
        tested = {fact.detail["leak"]} if "leak" in fact.detail else set(self.names)
        if not fact.detail["passed"]:
            for passed in self.passed.values():
                passed.difference_update(tested)
            return False
        self.passed[fact.kind] |= tested
        is_whole = fact.kind == INITIAL or fact.detail.get("all_leaks", True)
        if not is_whole or not self.names <= self.passed[fact.kind]:
            return False
        if fact.kind == FOLLOW_UP:
            self.names.clear()
            for passed in self.passed.values():
                passed.clear()
        return True


def orders_of_whole_follow_ups(facts: list[Fact]) -> set[int]:
    """The places of the follow-up tests that showed every leak known until then repaired."""
    leaks, found = NamedLeaks(), set()
    for fact in facts:
        if fact.kind in {"addition", "repair"}:
            leaks.add(fact)
        elif fact.kind in {INITIAL, FOLLOW_UP} and leaks.test(fact) and fact.kind == FOLLOW_UP:
            found.add(fact.order)
    return found
