"""On which grounds a plan gets more time, and up to when: 82.157(i) knows more of them than 84.106(i)."""

from dataclasses import dataclass
from datetime import date

from compliance.rulebook import policy
from compliance.rulebook.facts import Category, Fact
from compliance.rulebook.jurisdictions.docket import Docket, after, reckoned
from compliance.rulebook.rules import US_FEDERAL_ODS
from compliance.rulebook.tables import Row

EXEMPT_SUBSTITUTE = "exempt_substitute"
FEDERALLY_OWNED = "federally_owned"
OF_PROCESSES = ("custom_built", "other_regulation", "radiological")
# The rows of grounds with terms of their own; a rule without the row doesn't know the ground.
_KEYS = {
    EXEMPT_SUBSTITUTE: "plan_extension_exempt_substitute",
    FEDERALLY_OWNED: "plan_extension_federally_owned",
}


@dataclass(frozen=True)
class PlanExtensionTerms:
    """What one ``plan_extension`` may give under one rule.

    ``basis`` is free text; only the names above carry terms of their own. ``cap_on`` is the latest day, ``None``
    without one; ``is_automatic`` says that nobody has to be asked; ``rests_on`` holds the row of the cap.
    """

    is_known: bool = True
    is_automatic: bool = False
    cap_on: date | None = None
    words: str = ""
    rests_on: tuple[Row, ...] = ()

    def until(self, fact: Fact) -> date:
        """The day that is given: the one asked for, but no later than the cap."""
        asked_on = fact.until or date.max
        return asked_on if self.cap_on is None else min(asked_on, self.cap_on)


def plan_extension_terms(docket: Docket, fact: Fact, *, plan_on: date, base_on: date) -> PlanExtensionTerms:
    """The terms of a request for more time.

    Args:
        docket: of the rule.
        fact: the request, with its basis.
        plan_on: the plan's date.
        base_on: when the retrofit or retirement is due without more time.

    Source: 40 CFR 82.157(i), 84.106(i).
    """
    basis = (fact.basis or "").strip().lower().replace(" ", "_").replace("-", "_")
    if basis not in _KEYS:
        return PlanExtensionTerms(words=_conditions(docket, basis, fact.on))
    row = docket.find_row(_KEYS[basis], fact.on)
    if row is None:
        return PlanExtensionTerms(is_known=False)
    if basis == EXEMPT_SUBSTITUTE:
        words = f"{policy.EXEMPT_SUBSTITUTE_FROM_PLAN.sentence}: {reckoned(plan_on, row)} ({row.citation})."
        return PlanExtensionTerms(is_automatic=True, cap_on=after(plan_on, row), words=words, rests_on=(row,))
    words = f"No later than {reckoned(base_on, row)} ({row.citation})."
    return PlanExtensionTerms(cap_on=after(base_on, row), words=words, rests_on=(row,))


def _conditions(docket: Docket, basis: str, on: date) -> str:
    """What the paragraph asks of a ground that is open to industrial processes, which the agency judges."""
    if basis not in OF_PROCESSES:
        return ""
    section = "82.157" if docket.rule == US_FEDERAL_ODS else "84.106"
    words = f"40 CFR {section}(i) gives this time to industrial process refrigeration"
    if docket.timeline.appliance.category is not Category.INDUSTRIAL_PROCESS_REFRIGERATION:
        words += f", and the appliance is {docket.timeline.appliance.category.in_words}"
    if basis == "custom_built":
        quote = docket.row("plan_extension_long_quote", on)
        delivery = docket.row("plan_extension_after_delivery", on)
        words += (
            f"; the supplier quotes more than {quote.in_words}, and it is installed within {delivery.in_words} "
            "of its delivery"
        )
    return f"{words}."
