"""Where an appliance stands on the day of a filing, from its records, and what may be filed on it."""

import datetime
from dataclasses import dataclass

from compliance.rulebook.filings.catalogue import SPECS
from compliance.rulebook.filings.check import state_objections
from compliance.rulebook.filings.details import Objection
from compliance.rulebook.filings.situation import Situation
from compliance.rulebook.filings.specs import FilingSpec
from compliance.selectors.facts import appliance_facts, rules_for
from jobs.models import Appliance, CaseFiling
from jobs.selectors.evacuation import site_atmosphere_kpa


@dataclass(frozen=True)
class FilingOption:
    """A kind of filing, and what speaks against filing it on the day; nothing where it may be filed."""

    spec: FilingSpec
    objections: tuple[Objection, ...]

    @property
    def is_open(self) -> bool:
        """Whether it may be filed."""
        return not self.objections


def filing_situation(
    appliance: Appliance, *, on: datetime.date, today: datetime.date, without: CaseFiling | None = None
) -> Situation:
    """The appliance in law at the end of a day, as its records tell of it now.

    Args:
        appliance: with its site.
        on: the filing's day at the site.
        today: the day at the site on which it is filed.
        without: a filing that is being amended, and so doesn't count.
    """
    described, facts = appliance_facts(appliance, without=without)
    return Situation(
        appliance=described,
        facts=tuple(facts),
        on=on,
        today=today,
        rules=rules_for(appliance.site),
        atmosphere_kpa=site_atmosphere_kpa(appliance.site),
    )


def filing_options(situation: Situation) -> list[FilingOption]:
    """Every kind of filing, with what speaks against it."""
    return [FilingOption(spec, tuple(state_objections(spec.kind, situation))) for spec in SPECS.values()]
