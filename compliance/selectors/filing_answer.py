"""What the law makes of one filed event: the answer that the person who filed it reads."""

from dataclasses import dataclass

from compliance.models import LeakRate, Obligation
from compliance.rulebook.results import ObligationKind
from jobs.models import ServiceEvent


@dataclass(frozen=True)
class FilingAnswer:
    """Leak rates of an event's additions with their arithmetic, and the obligations that it opened and met."""

    rates: tuple[LeakRate, ...]
    opened: tuple[Obligation, ...]
    met: tuple[Obligation, ...]

    @property
    def is_over(self) -> bool:
        """Whether any rate is over its threshold."""
        return any(rate.exceeds for rate in self.rates)


def filing_answer(event: ServiceEvent) -> FilingAnswer:
    """The answer to a filing, as the appliance was last assessed; an event that met what it opened shows in both."""
    shown = Obligation.objects.exclude(kind=ObligationKind.RECORD_RETENTION)
    return FilingAnswer(
        rates=tuple(event.leak_rates.order_by("position")),
        opened=tuple(shown.filter(opened_by=event)),
        met=tuple(shown.filter(met_by=event)),
    )
