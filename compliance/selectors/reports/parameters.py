"""What a report is asked: about whom, for which year, as of which day, as known at which instant."""

from collections.abc import Callable, Collection
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import Any, TypeVar

from django.db.models import Exists, Model, OuterRef, Q, QuerySet
from django.utils.timezone import localtime

from compliance.selectors.paper import A4, LETTER, ON_LETTER
from compliance.selectors.wording import rulebook_in_words
from jobs.models import Appliance, Customer, FullChargeDetermination, Site
from jobs.selectors.history import as_known

Row = TypeVar("Row", bound=Model)

#: Told how much is done out of how much; may be called as often as anyone likes.
Progress = Callable[[int, int], None]


def no_progress(done: int, total: int) -> None:
    """Tell nobody."""


def in_words(moment: datetime) -> str:
    """An instant at the firm, with the name of its time: “2026-03-02 14:30 CST”."""
    return f"{localtime(moment):%Y-%m-%d %H:%M %Z}"


@dataclass(frozen=True)
class ReportParameters:
    """The question; ``options`` are further answers of the report's own, as JSON values.

    ``as_of`` is the day on which clocks are read; only records filed at or before ``known_at`` count. ``run_by`` and
    ``run_at`` are printed and change no figure.
    """

    as_of: date
    known_at: datetime
    run_by: str
    run_at: datetime
    year: int
    customer: Customer | None = None
    site: Site | None = None
    appliance: Appliance | None = None
    options: dict[str, Any] = field(default_factory=dict)

    @property
    def whose(self) -> str:
        """Whom it is about, in words."""
        if self.appliance is not None:
            appliance = self._then(self.appliance)
            return f"{appliance.name}, {self._then(appliance.site).name}"
        if self.site is not None:
            site = self._then(self.site)
            return f"{site.name}, {self._then(site.customer).name}"
        return "All customers" if self.customer is None else self._then(self.customer).name

    def _then(self, row: Row) -> Row:
        """A row of a register as it stood at the instant; as it stands now if it came later."""
        return next(iter(as_known(type(row), self.known_at, ids=[row.pk])), row)

    @property
    def last_on(self) -> date:
        """The last day of the year that is asked about."""
        return min(self.as_of, date(self.year, 12, 31))

    @property
    def days(self) -> tuple[date, date]:
        """The first and the last day of the year that count; the last before the first if the year is still to come."""
        return date(self.year, 1, 1), self.last_on

    @property
    def is_about_all(self) -> bool:
        """Whether it is about every appliance there is."""
        return self.appliance is None and self.site is None and self.customer is None

    def paper(self, usual: str = "") -> str:
        """The paper it is printed on: as chosen, the report's usual one, or that of the place of all its appliances."""
        if chosen := self.options.get("paper") or usual:
            return str(chosen)
        there = set(self.appliances().order_by().values_list("site__jurisdiction", flat=True).distinct())
        return A4 if there and not there & ON_LETTER else LETTER

    @property
    def rulebook(self) -> str:
        """Which rulebook and which of the law's tables the figures rest on."""
        return rulebook_in_words()

    @property
    def facts_of_firm(self) -> tuple[tuple[str, str], ...]:
        """The same for reports that are about the firm itself."""
        return (("As of", self.as_of.isoformat()), *self.facts[2:])

    @property
    def facts(self) -> tuple[tuple[str, str], ...]:
        """The first lines of every report: about whom, as of when, by whom, by which rulebook."""
        return (
            ("Customer", self.whose),
            ("Clocks read as of", self.as_of.isoformat()),
            ("Records known at", in_words(self.known_at)),
            ("Run by", f"{self.run_by}, {in_words(self.run_at)}"),
            ("Rulebook and tables", self.rulebook),
        )

    def appliances(self) -> QuerySet[Appliance]:
        """The appliances it is about, with their sites and customers; none that was registered after the instant."""
        charged = FullChargeDetermination.objects.filter(appliance=OuterRef("pk"))
        registered = Exists(charged.filter(filed_at__lte=self.known_at)) | ~Exists(charged)
        appliances = Appliance.objects.select_related("site__customer", "technician").filter(registered)
        if self.appliance is not None:
            return appliances.filter(pk=self.appliance.pk)
        if self.site is not None:
            return appliances.filter(site=self.site)
        return appliances if self.customer is None else appliances.filter(site__customer=self.customer)

    def appliances_in(self, jurisdictions: Collection[str]) -> QuerySet[Appliance]:
        """Those of them whose sites stood there in law, by the register of the instant."""
        ever = Site.history.filter(jurisdiction__in=jurisdictions).values("id")
        sites = list(Site.objects.filter(Q(jurisdiction__in=jurisdictions) | Q(pk__in=ever)))
        then = {row.pk: row for row in as_known(Site, self.known_at, ids=[site.pk for site in sites])}
        there = [site.pk for site in sites if then.get(site.pk, site).jurisdiction in jurisdictions]
        return self.appliances().filter(site__in=there)
