"""Facts to the additions that leak rates are made of: what one event netted, for which leak, in which window."""

from collections import defaultdict
from dataclasses import dataclass, field
from datetime import date

from compliance.rulebook import policy
from compliance.rulebook.dates import add_months
from compliance.rulebook.facts import Fact, FactKind
from compliance.rulebook.open_leaks import OpenLeaks
from compliance.rulebook.tables import Row
from compliance.rulebook.timeline import State, Timeline

_EventKey = tuple[str, object]


@dataclass
class Addition:
    """What one event added on one day for one leak. Where nothing ``is_counted`` it only marks the day.

    ``position`` is the place of its first fact; ``entries`` counts the recorded masses behind ``net_mg``.
    """

    position: int
    on: date
    moment: _EventKey
    event: str | None
    leak: str | None
    epoch: int
    epoch_started_on: date | None
    state: State
    gross_mg: int = 0
    removed_mg: int = 0
    purged_mg: int = 0
    seasonal_mg: int = 0
    entries: int = 0
    is_counted: bool = False

    @property
    def net_mg(self) -> int:
        return max(0, self.gross_mg - self.purged_mg - self.removed_mg)

    @property
    def charged_mg(self) -> int:
        """The same with what was purged and destroyed, for rules that leave none of it out."""
        return self.net_mg + self.purged_mg


@dataclass
class _SeasonalRemovals:
    """Removals for a change in season, drawn down by later seasonal additions until used up or ``months`` old."""

    months: int
    balances: list[tuple[date, int]] = field(default_factory=list)

    def remove(self, fact: Fact) -> None:
        self.balances.append((fact.on, fact.mass_mg or 0))

    def excess(self, on: date, mass_mg: int) -> tuple[int, int]:
        """Draws a seasonal addition from the removals; returns what exceeds them and how many removals it drew on."""
        left_mg, kept, drawn = mass_mg, [], 0
        for removed_on, balance_mg in self.balances:
            used_mg = min(left_mg, balance_mg) if on <= add_months(removed_on, self.months) else 0
            left_mg -= used_mg
            drawn += used_mg > 0
            if balance_mg > used_mg:
                kept.append((removed_on, balance_mg - used_mg))
        self.balances = kept
        return left_mg, drawn


@dataclass(frozen=True)
class CollectedAdditions:
    """All additions of a timeline, and the days on which the rolling window began anew, in order.

    ``season`` is the period within which a seasonal addition makes up for a removal.
    """

    rows: tuple[Addition, ...]
    next_position: int
    epoch_starts: tuple[date, ...]
    season: Row
    first_seasonal_on: date | None

    @property
    def epoch(self) -> int:
        """The window that an addition made after the last fact would fall in."""
        return len(self.epoch_starts)

    @property
    def epoch_started_on(self) -> date | None:
        """The day on which that window began; ``None`` for the first."""
        return self.epoch_starts[-1] if self.epoch_starts else None

    def season_on(self, on: date) -> tuple[Row, ...]:
        """The row of the seasonal period where a seasonal addition by that day makes rates rest on it."""
        is_used = self.first_seasonal_on is not None and self.first_seasonal_on <= on
        return (self.season,) if is_used else ()

    def with_probe(self, on: date, state: State) -> tuple[Addition, ...]:
        """The additions, and one of nothing yet: a new leak in an event of its own, after its day's facts."""
        probe = Addition(
            position=self.next_position,
            on=on,
            moment=("fact", self.next_position),
            event=None,
            leak=None,
            epoch=self.epoch,
            epoch_started_on=self.epoch_started_on,
            state=state,
            is_counted=True,
        )
        return (*self.rows, probe)


def collect_additions(timeline: Timeline, season: Row) -> CollectedAdditions:
    """Groups the addition and removal facts of a timeline, in order of day, window and event.

    What one event's removals leave uncovered is its net; a removal counts for additions of its event on its own day or
    later. Additions of one event on one day stand together, so that they are no interval apart.

    Args:
        timeline: the facts in order.
        season: the months after a seasonal removal in which an addition may still make up for it.

    Source: 40 CFR 82.152, *Leak rate* and *Seasonal variance*; 40 CFR 82.157(b), 84.106(b).
    """
    return _Collector(timeline, season).collect()


class _Collector:
    """Walks the timeline once; what it holds is the state of that walk."""

    def __init__(self, timeline: Timeline, season: Row) -> None:
        self._timeline = timeline
        self._season = season
        self._first_seasonal_on: date | None = None
        self._unnamed_days = _days_without_names(timeline)
        self._pools = _removal_pools(timeline, self._unnamed_days)
        self._drawn: dict[_EventKey, int] = defaultdict(int)
        self._seasonal = _SeasonalRemovals(season.count)
        self._leaks = OpenLeaks()
        self._epoch_starts: list[date] = []
        self._additions: dict[tuple[object, ...], Addition] = {}

    def collect(self) -> CollectedAdditions:
        for moment in self._timeline.moments:
            fact = moment.fact
            if fact.kind is FactKind.ADDITION:
                self._leaks.note(fact)
                self._add(moment.position, fact, moment.state)
            elif fact.kind is FactKind.REMOVAL and fact.reason == "seasonal_variance":
                self._seasonal.remove(fact)
            elif fact.kind is FactKind.REPAIR:
                self._leaks.note(fact)
            elif fact.kind is FactKind.INITIAL_VERIFICATION_TEST:
                self._leaks.take_test(fact)
            elif fact.kind is FactKind.RETROFITTED or (
                fact.kind is FactKind.FOLLOW_UP_VERIFICATION_TEST and not self._leaks.take_test(fact)
            ):
                self._epoch_starts.append(fact.on)
        additions = list(self._additions.values())
        for addition in additions:
            self._net(addition)
        rows = tuple(_together_by_moment(additions))
        return CollectedAdditions(
            rows,
            len(self._timeline.moments),
            tuple(self._epoch_starts),
            self._season,
            self._first_seasonal_on,
        )

    def _add(self, position: int, fact: Fact, state: State) -> None:
        moment = _event_key(fact, position, self._unnamed_days)
        epoch, starts = len(self._epoch_starts), self._epoch_starts
        key = (fact.on, epoch, moment, fact.leak)
        addition = self._additions.get(key)
        if addition is None:
            started_on = starts[-1] if starts else None
            addition = self._additions[key] = Addition(
                position, fact.on, moment, fact.event, fact.leak, epoch, started_on, state
            )
        mass_mg, entries = fact.mass_mg or 0, 1
        if fact.reason == "seasonal_variance":
            self._first_seasonal_on = self._first_seasonal_on or fact.on
            excess_mg, drawn = self._seasonal.excess(fact.on, mass_mg)
            entries += drawn
            if excess_mg <= policy.RESOLUTION.value * entries:
                return
            addition.seasonal_mg += mass_mg - excess_mg
            mass_mg = excess_mg
        elif fact.reason != "service":
            return
        addition.gross_mg += mass_mg
        addition.purged_mg += min(fact.purged_and_destroyed_mg, mass_mg)
        addition.entries += entries
        addition.is_counted = True

    def _net(self, addition: Addition) -> None:
        """Takes from an event's removals, up to the addition's day, what earlier additions of it left."""
        if not addition.is_counted:
            return
        removals = [mass_mg for on, mass_mg in self._pools[addition.moment] if on <= addition.on]
        available_mg = sum(removals) - self._drawn[addition.moment]
        addition.removed_mg = min(available_mg, addition.gross_mg - addition.purged_mg)
        if addition.removed_mg > 0:
            self._drawn[addition.moment] += addition.removed_mg
            addition.entries += len(removals)


def _removal_pools(timeline: Timeline, unnamed_days: set[date]) -> dict[_EventKey, list[tuple[date, int]]]:
    pools: dict[_EventKey, list[tuple[date, int]]] = defaultdict(list)
    for moment in timeline.moments:
        fact = moment.fact
        if fact.kind is FactKind.REMOVAL and fact.reason == "service":
            pools[_event_key(fact, moment.position, unnamed_days)].append((fact.on, fact.mass_mg or 0))
    return pools


def _event_key(fact: Fact, position: int, unnamed_days: set[date]) -> _EventKey:
    """Names what the fact belongs to: its event, or its day where nothing of that day is named, or itself."""
    if fact.event is not None:
        return ("event", fact.event)
    if fact.on in unnamed_days:
        return ("day", fact.on)
    return ("fact", position)


def _days_without_names(timeline: Timeline) -> set[date]:
    """Days with additions, none of which names an event or a leak (``policy.UNNAMED_DAY_IS_ONE_EVENT``)."""
    additions = timeline.of_kind(FactKind.ADDITION)
    named = {fact.on for fact in additions if fact.event is not None or fact.leak is not None}
    return {fact.on for fact in additions} - named


def _together_by_moment(additions: list[Addition]) -> list[Addition]:
    """Orders by day, window, the event's first place in them, and place."""
    first: dict[tuple[object, ...], int] = {}
    for addition in additions:
        first.setdefault((addition.on, addition.epoch, addition.moment), addition.position)
    return sorted(
        additions,
        key=lambda addition: (
            addition.on,
            addition.epoch,
            first[addition.on, addition.epoch, addition.moment],
            addition.position,
        ),
    )
