"""Laws that hold after any sequence of filings, amendments, voids, and acts that move or reverse stock."""

import datetime
from collections import defaultdict
from dataclasses import dataclass, field, replace
from decimal import Decimal
from uuid import uuid4

import pytest
from django.db import transaction
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from jobs.errors import SubmissionRefused
from jobs.models import Appliance, Cylinder, ServiceEvent, StockMovement, Technician, Transfer
from jobs.selectors.events import current_events
from jobs.selectors.ledger import appliance_book_mg, cylinder_contents, holder_balances, refrigerant_totals
from jobs.services.cylinder_conditions import contamination_record
from jobs.services.cylinder_weighings import cylinder_weighing_record
from jobs.services.events import service_event_amend, service_event_file, service_event_void
from jobs.services.heel_removals import HeelEntry, heel_removal_record
from jobs.services.stock import purchase_record, shipment_record
from jobs.services.stock_adjustments import stock_adjust
from jobs.services.stock_reversals import stock_movement_reverse
from jobs.services.stock_sales import sale_record
from jobs.services.submission import EventSubmission, TransferEntry
from jobs.services.verification import records_verify
from portal.accounts.models import User
from tests.factories import (
    FILED_AT,
    ApplianceFactory,
    CylinderFactory,
    EnteredMass,
    SiteFactory,
    TechnicianFactory,
    UserFactory,
    submission,
)
from tests.jobs.cylinder_acts import CERTIFIED_BUYER

pytestmark = pytest.mark.django_db

FIRST_DAY = datetime.date(2026, 2, 20)

days = st.integers(0, 10).map(lambda number: FIRST_DAY + datetime.timedelta(days=number))
masses = st.integers(1, 15_000_000).map(
    lambda mg: EnteredMass(f"{mg // 1_000_000}.{mg % 1_000_000:06d}", "kg", mg)
)
moves = st.lists(st.tuples(st.sampled_from(["in", "out"]), st.integers(0, 2), masses), max_size=3)
acts = st.one_of(
    st.tuples(st.just("file"), st.integers(0, 1), days, moves),
    st.tuples(st.just("amend"), st.integers(0, 20), days, moves),
    st.tuples(st.just("void"), st.integers(0, 20)),
    st.tuples(st.just("purchase"), st.integers(0, 2), days, masses),
    st.tuples(st.just("ship"), st.integers(0, 2), days, st.one_of(st.none(), masses)),
    st.tuples(st.just("sell"), st.integers(0, 2), days, masses),
    st.tuples(st.just("weigh_and_adjust"), st.integers(0, 2), days, masses),
    st.tuples(st.just("remove_heel"), st.integers(0, 2), days, masses),
    st.tuples(st.just("mark_mixed"), st.integers(0, 2), days),
    st.tuples(st.just("reverse"), st.integers(0, 20)),
)


@dataclass
class Shop:
    """Two appliances of one owner, three cylinders and a disposable one, and a plain list of what stands."""

    by: User
    technician: Technician
    appliances: list[Appliance]
    cylinders: list[Cylinder]
    standing: dict[int, tuple[ServiceEvent, EventSubmission]] = field(default_factory=dict)
    stock: dict[StockMovement, list[tuple[Cylinder, int]]] = field(default_factory=dict)
    disposable: Cylinder = field(default_factory=lambda: CylinderFactory(kind="disposable"))

    def act(self, act):
        kind, *values = act
        getattr(self, kind)(*values)

    def visit(self, appliance, day, moved):
        transfers = tuple(TransferEntry(way, self.cylinders[number], mass) for way, number, mass in moved)
        return submission(
            appliance,
            technician=self.technician,
            happened_on=day,
            transfers=transfers,
            is_separate_visit=True,
        )

    def file(self, number, day, moved):
        visit = self.visit(self.appliances[number], day, moved)
        event = service_event_file(by=self.by, submission=visit, filed_at=FILED_AT).event
        self.standing[event.pk] = (event, visit)

    def amend(self, number, day, moved):
        if former := self.pick(number):
            visit = self.visit(former.appliance, day, moved)
            event = service_event_amend(
                by=self.by, event=former, submission=visit, reason="Misread.", filed_at=FILED_AT
            ).event
            del self.standing[former.pk]
            self.standing[event.pk] = (event, visit)

    def void(self, number):
        if former := self.pick(number):
            service_event_void(by=self.by, event=former, reason="No visit.", filed_at=FILED_AT)
            del self.standing[former.pk]

    def purchase(self, number, day, mass):
        fields = {"by": self.by, "supplier_name": "Harbor Gas", "refrigerant": "R-410A", "mass": mass}
        cylinder = self.cylinders[number]
        movement = purchase_record(
            cylinder=cylinder, happened_on=day, filed_at=FILED_AT, submission_id=uuid4(), **fields
        )
        self.stock[movement] = [(cylinder, mass.mass_mg)]

    def ship(self, number, day, mass):
        cylinder = self.cylinders[number]
        fields = {"destination_kind": "reclaimer", "destination_name": "Three Rivers", "mass": mass}
        movement = shipment_record(
            by=self.by, cylinder=cylinder, happened_on=day, filed_at=FILED_AT, **fields
        )
        self.stock[movement] = [(cylinder, -sum(row.mass_mg for row in movement.transfers.all()))]

    def sell(self, number, day, mass):
        cylinder = self.cylinders[number]
        fields = {"by": self.by, "buyer": CERTIFIED_BUYER, "document_number": "S-1", "mass": mass}
        movement = sale_record(cylinder=cylinder, happened_on=day, filed_at=FILED_AT, **fields)
        self.stock[movement] = [(cylinder, -mass.mass_mg)]

    def weigh_and_adjust(self, number, day, mass):
        """The scale shows ``mass`` net, whatever the books say."""
        cylinder = self.cylinders[number]
        gross_mg = cylinder.tare_mg + mass.mass_mg
        gross = EnteredMass(f"{gross_mg // 1_000_000}.{gross_mg % 1_000_000:06d}", "kg", gross_mg)
        fields = {"gross": gross, "uncertainty": EnteredMass("0", "kg", 0), "happened_on": day}
        weighing = cylinder_weighing_record(by=self.by, cylinder=cylinder, filed_at=FILED_AT, **fields)
        adjustment = stock_adjust(by=self.by, weighing=weighing, reason="Unknown.", filed_at=FILED_AT)
        row = adjustment.transfers.get()
        into = row.to_holder.cylinder_id == cylinder.pk
        self.stock[adjustment] = [(cylinder, row.mass_mg if into else -row.mass_mg)]

    def buy_disposable(self, mass):
        fields = {"supplier_name": "Harbor Gas", "refrigerant": "R-410A", "happened_on": FIRST_DAY}
        bought = purchase_record(by=self.by, cylinder=self.disposable, mass=mass, filed_at=FILED_AT, **fields)
        self.stock[bought] = [(self.disposable, mass.mass_mg)]

    def remove_heel(self, number, day, mass):
        """The disposable cylinder is bought once; its heels go into one of the others."""
        if self.disposable not in {cylinder for moved in self.stock.values() for cylinder, _ in moved}:
            self.buy_disposable(mass)
        into = self.cylinders[number]
        entry = HeelEntry(self.technician, Decimal(15), "landfill", "Pit", "Removed.", into=into, mass=mass)
        removal = heel_removal_record(
            by=self.by, cylinder=self.disposable, entry=entry, happened_on=day, filed_at=FILED_AT
        )
        self.stock[removal.movement] = [(self.disposable, -mass.mass_mg), (into, mass.mass_mg)]

    def mark_mixed(self, number, day):
        fields = {"refrigerants": ["R-32"], "finding": "Odd pressure.", "happened_on": day}
        contamination_record(by=self.by, cylinder=self.cylinders[number], filed_at=FILED_AT, **fields)

    def reverse(self, number):
        if self.stock:
            movement = list(self.stock)[number % len(self.stock)]
            stock_movement_reverse(by=self.by, movement=movement, reason="Mistaken.", filed_at=FILED_AT)
            del self.stock[movement]

    def pick(self, number):
        events = [event for event, _ in self.standing.values()]
        return events[number % len(events)] if events else None

    def expected_mg(self):
        """What each appliance and cylinder should hold, by the plain list."""
        held = defaultdict(int)
        for moved in self.stock.values():
            for cylinder, mass_mg in moved:
                held[cylinder] += mass_mg
        for _, visit in self.standing.values():
            for entry in visit.transfers:
                signed_mg = entry.mass.mass_mg if entry.direction == "in" else -entry.mass.mass_mg
                held[visit.appliance] += signed_mg
                held[entry.cylinder] -= signed_mg
        return held


def shop():
    site = SiteFactory()
    return Shop(
        UserFactory(),
        TechnicianFactory(),
        [ApplianceFactory(site=site), ApplianceFactory(site=site)],
        CylinderFactory.create_batch(3),
    )


def rows():
    return (ServiceEvent.objects.count(), StockMovement.objects.count(), Transfer.objects.count())


def check(sequence):
    place = shop()
    for act in sequence:
        before = (rows(), holder_balances())
        try:
            place.act(act)
        except SubmissionRefused:
            assert (rows(), holder_balances()) == before or act[0] == "remove_heel"
    expected = place.expected_mg()
    assert set(refrigerant_totals().values()) <= {0}
    for appliance in place.appliances:
        assert appliance_book_mg(appliance) == expected[appliance]
    for cylinder in (*place.cylinders, place.disposable):
        assert sum(cylinder_contents(cylinder).values()) == expected[cylinder]
        for number in range(12):
            contents = cylinder_contents(cylinder, on=FIRST_DAY + datetime.timedelta(days=number))
            assert all(mass_mg > 0 for mass_mg in contents.values())
    standing = {event.pk for appliance in place.appliances for event in current_events(appliance)}
    assert standing == place.standing.keys()
    assert list(records_verify()) == []


def check_and_forget(sequence):
    """Each example starts from the same empty books."""
    with transaction.atomic():
        check(sequence)
        transaction.set_rollback(True)


relaxed = settings(deadline=None, suppress_health_check=list(HealthCheck))


@given(st.lists(acts, max_size=12))
@settings(relaxed, max_examples=25)
def test_books_balance_after_any_sequence(sequence):
    check_and_forget(sequence)


@pytest.mark.proof
@given(st.lists(acts, max_size=40))
@settings(relaxed, max_examples=300)
def test_books_balance_after_any_long_sequence(sequence):
    check_and_forget(sequence)


def test_sequences_reach_amendments_and_voids():
    """The laws above would say little if every act were refused."""
    mass = EnteredMass("2.0", "kg", 2_000_000)
    less = replace(mass, value="1.5", mass_mg=1_500_000)
    out, back = ("out", 0, mass), ("in", 0, less)

    check_and_forget(
        [
            ("purchase", 1, FIRST_DAY, mass),
            ("file", 0, FIRST_DAY, [out, back]),
            ("amend", 0, FIRST_DAY, [out]),
            ("file", 1, FIRST_DAY, [("in", 0, less), ("in", 1, less)]),
            ("void", 0),
            ("void", 1),
            ("weigh_and_adjust", 0, FIRST_DAY, less),
            ("reverse", 1),
            ("sell", 1, FIRST_DAY, less),
            ("reverse", 1),
            ("remove_heel", 1, FIRST_DAY, less),
            ("ship", 0, FIRST_DAY, None),
            ("mark_mixed", 1, FIRST_DAY),
            ("ship", 1, FIRST_DAY, None),
        ]
    )
