"""Amendments leave no trace in what the law makes of the records.

A life of visits is filed, amended and voided at random. At every instant the portal's answer is that for the visits
which a slow reading of the acts says stood then, filed as they stood by somebody who never erred.
"""

import datetime
from dataclasses import dataclass, field, replace

import pytest
from django.db import transaction
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from compliance.rulebook.assess import assess
from compliance.selectors.facts import appliance_facts, rules_for
from jobs.models import Appliance, ServiceEvent
from jobs.services.events import service_event_void
from portal.accounts.models import User
from tests.compliance.firm import add_appliance, amend, file, noon

pytestmark = pytest.mark.django_db

FIRST_DAY = datetime.date(2026, 1, 5)
AS_OF = datetime.date(2026, 12, 1)
# A visit: after how many days, what it added in pounds, and whether it inspected or changed the full charge as well.
# Few days to choose from: what is filed for one day stands in the order first filed, which decides the charge in force.
VISITS = st.tuples(
    st.sampled_from([0, 0, 0, 1, 40, 200]),
    st.integers(0, 30),
    st.booleans(),
    st.sampled_from([None, "90", "120"]),
)
ACTS = st.lists(
    st.one_of(
        st.tuples(st.just("amend"), st.integers(0, 9), VISITS),
        st.tuples(st.just("amend"), st.integers(0, 9), VISITS),
        st.tuples(st.just("void"), st.integers(0, 9)),
        st.tuples(st.just("file"), VISITS),
    ),
    min_size=2,
    max_size=5,
)
LIVES = st.tuples(
    st.lists(st.tuples(st.just("file"), VISITS), min_size=2, max_size=3), ACTS, st.integers(0, 7)
)
QUIET = [HealthCheck.too_slow, HealthCheck.function_scoped_fixture, HealthCheck.data_too_large]


def _rows(visit):
    days, pounds, is_inspected, charge_lb = visit
    on = (FIRST_DAY + datetime.timedelta(days=days)).isoformat()
    stated = []
    if charge_lb:
        details = {"full_charge_mg": int(charge_lb) * 453_592_370 // 1000, "method": "measurement"}
        stated = [("full_charge_change", details)]
    added = [(str(pounds), None)] if pounds else []
    return on, {"added": added, "inspected": is_inspected, "stated": stated}


@dataclass
class _Ledger:
    """What was filed, and beside it plain lists of what each line of records came to say, ``None`` once it is void."""

    by: User
    appliance: Appliance
    standing: list[ServiceEvent | None] = field(default_factory=list)
    lines: list[list[tuple[int, tuple | None]]] = field(default_factory=list)
    instants: list[datetime.datetime] = field(default_factory=list)

    def act(self, act):
        kind, *values = act
        number = len(self.instants)
        filed_at = noon(AS_OF) + datetime.timedelta(hours=number)
        if kind == "file":
            on, rows = _rows(values[0])
            self.standing.append(file(self.by, self.appliance, on, filed_at=filed_at, **rows))
            self.lines.append([(number, values[0])])
        else:
            places = [place for place, event in enumerate(self.standing) if event is not None]
            if not places:
                return
            place = places[values[0] % len(places)]
            former = self.standing[place]
            if kind == "amend":
                on, rows = _rows(values[1])
                self.standing[place] = amend(self.by, former, on, filed_at=filed_at, **rows)
                self.lines[place].append((number, values[1]))
            else:
                service_event_void(by=self.by, event=former, reason="No visit.", filed_at=filed_at)
                self.standing[place] = None
                self.lines[place].append((number, None))
        self.instants.append(filed_at)

    def stood(self, number):
        """The visits that stood after so many acts, in the order in which their lines began."""
        last = [[said for when, said in line if when <= number][-1:] for line in self.lines]
        return [said[0] for said in last if said and said[0] is not None]


def _answer(appliance, known_at=None):
    """The law's answer and the facts it was given, with each event named by its place: references differ."""
    described, facts = appliance_facts(appliance, known_at)
    names = {event: f"E{place}" for place, event in enumerate(dict.fromkeys(fact.event for fact in facts))}
    renamed = [replace(fact, event=names[fact.event]) for fact in facts]
    return renamed, assess(described, renamed, as_of=AS_OF, rules=rules_for(appliance.site))


def _check(admin, life):
    filed, acts, asked = life
    ledger = _Ledger(admin, add_appliance(admin, "Amended"))
    for act in [*filed, *acts]:
        ledger.act(act)
    last = len(ledger.instants) - 1
    for number in {last, min(asked, last)}:
        unerring = add_appliance(admin, f"Unerring {number}")
        for place, visit in enumerate(ledger.stood(number)):
            on, rows = _rows(visit)
            filed_at = noon(AS_OF) + datetime.timedelta(minutes=place)
            file(admin, unerring, on, filed_at=filed_at, **rows)

        assert _answer(ledger.appliance, ledger.instants[number]) == _answer(unerring)
    assert _answer(ledger.appliance) == _answer(ledger.appliance, ledger.instants[last])


def _in_a_life_of_its_own(admin, life):
    with transaction.atomic():
        _check(admin, life)
        transaction.set_rollback(True)


@settings(max_examples=15, deadline=None, suppress_health_check=QUIET)
@given(life=LIVES)
def test_an_amended_life_is_judged_as_the_life_it_ended_up_as(admin, life):
    _in_a_life_of_its_own(admin, life)


@pytest.mark.proof
@settings(max_examples=500, deadline=None, suppress_health_check=QUIET)
@given(life=LIVES)
def test_many_amended_lives_are_judged_as_the_lives_they_ended_up_as(admin, life):
    _in_a_life_of_its_own(admin, life)
