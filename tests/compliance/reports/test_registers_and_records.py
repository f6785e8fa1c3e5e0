"""Roster, cylinder register, equipment record and California's figures, tied to the records."""

from datetime import UTC, date, datetime, time, timedelta
from decimal import Decimal
from typing import Any

import pytest
import time_machine
from django.db.models import Count
from django.utils import timezone

from compliance.rulebook.facts import FactKind
from compliance.selectors.facts import appliance_facts
from compliance.selectors.reports.document import Table
from jobs.models import (
    Appliance,
    Certification,
    Cylinder,
    CylinderKind,
    Jurisdiction,
    ServiceEvent,
    Site,
    Technician,
)
from jobs.models import CertificationType as Kind
from jobs.selectors.cylinders import requalification_due_on
from jobs.selectors.ledger import cylinder_contents
from jobs.services.stock import purchase_record
from portal.accounts.models import User
from tests.compliance.reports.asking import document, pdf_text, printed, question
from tests.demo_firm import NOW
from tests.factories import (
    BOOKS_BEGAN_ON,
    FILED_AT,
    HAPPENED_ON,
    ApplianceFactory,
    CertificationFactory,
    CylinderFactory,
    SiteFactory,
    TechnicianFactory,
    UserFactory,
    charged,
    entered,
    file_event,
    recovered,
    supply_cylinder,
)
from tests.jobs.cylinder_acts import move, requalify


def rows(table: Table) -> list[dict[str, object]]:
    """A table's rows by their columns' names."""
    return [dict(zip(table.header, row, strict=True)) for row in table.rows]


class TestRoster:
    def test_everybody_and_every_certificate_is_listed(self, officer: User) -> None:
        listed = rows(document("technician-roster", question()).tables[0])

        assert {row["Technician"] for row in listed} == set(
            Technician.objects.values_list("full_name", flat=True)
        )
        assert {row["Number"] for row in listed if row["Number"]} == set(
            Certification.objects.values_list("number", flat=True)
        )

    def test_visits_are_counted_once_each(self, officer: User) -> None:
        listed = rows(document("technician-roster", question(2025)).tables[0])
        filed = ServiceEvent.objects.filter(
            happened_on__year=2025, technician__isnull=False, superseded_by=None, is_void=False
        )

        assert sum(row["Of them under this certificate"] for row in listed) == filed.count()

    def test_who_was_registered_later_is_not_on_it(self, officer: User) -> None:
        before = min(Technician.history.values_list("history_date", flat=True)) - timedelta(seconds=1)

        assert document("technician-roster", question(known_at=before)).tables[0].rows == ()


@pytest.mark.parametrize(
    ("kind", "fields", "expected"),
    [
        # 40 CFR 82.161: a certificate of section 608 doesn't expire.
        (Kind.UNIVERSAL, {}, (None, None, "")),
        (
            Kind.UNIVERSAL,
            {"ended_on": date(2026, 3, 2), "ended_because": "Revoked"},
            (None, date(2026, 3, 1), "2026-03-02: Revoked"),
        ),
        # Regulation (EU) 2024/573 Art. 10(9): every seven years; of certificates of before 2024-03-11 the first
        # refresher is due by 2029-03-12.
        (Kind.EU_A1, {"issued_on": date(2024, 4, 2)}, (None, date(2031, 4, 2), "")),
        (
            Kind.EU_A1,
            {"issued_on": date(2024, 4, 2), "refreshed_on": date(2026, 5, 4)},
            (date(2026, 5, 4), date(2033, 5, 4), ""),
        ),
        (Kind.EU_CATEGORY_I, {}, (None, date(2029, 3, 12), "")),
        (
            Kind.EU_A1,
            {"issued_on": date(2024, 4, 2), "expires_on": date(2026, 11, 24)},
            (None, date(2026, 11, 24), "Ran out"),
        ),
        (Kind.GB_CATEGORY_I, {}, (None, None, "")),
        (Kind.GB_CATEGORY_I, {"expires_on": date(2026, 11, 25)}, (None, date(2026, 11, 25), "")),
        (
            Kind.GB_CATEGORY_I,
            {"expires_on": date(2026, 1, 5), "ended_on": date(2026, 2, 1), "ended_because": "Given up"},
            (None, date(2026, 1, 5), "2026-02-01: Given up"),
        ),
        # What comes after the day of the report hasn't ended it yet.
        (
            Kind.GB_CATEGORY_I,
            {"ended_on": date(2026, 11, 26), "ended_because": "Given up"},
            (None, date(2026, 11, 25), ""),
        ),
    ],
)
def test_the_roster_says_until_when_a_certificate_counts(
    db: None, kind: Kind, fields: dict[str, Any], expected: tuple[object, ...]
) -> None:
    number = CertificationFactory(type=kind, **fields).number

    listed = rows(document("technician-roster", question(known_at=timezone.now())).tables[0])
    (row,) = (row for row in listed if row["Number"] == number)

    assert (row["Last refresher"], row["Counts until"], row["Ended"]) == expected


class TestCylinderRegister:
    def test_each_cylinder_with_its_contents_and_due_date(self, officer: User) -> None:
        listed = {
            row["Serial number"]: row for row in rows(document("cylinder-register", question()).tables[0])
        }

        assert len(listed) == Cylinder.objects.count()
        for cylinder in Cylinder.objects.all():
            row = listed[cylinder.serial_number]
            held_mg = sum(cylinder_contents(cylinder, on=NOW.date()).values())
            assert row["Due on"] == requalification_due_on(cylinder)
            assert abs(row["Holds (kg)"] - Decimal(held_mg) / 1_000_000) <= Decimal("0.0005")

    def test_one_that_has_run_out_says_so(self, officer: User) -> None:
        long_after = question(as_of=NOW.date() + timedelta(days=366 * 15))

        listed = rows(document("cylinder-register", long_after).tables[0])

        assert "run out: not to be filled" in {row["Requalification"] for row in listed}


def on_day(day: date) -> dict[str, Any]:
    """A record's day, and when it was filed."""
    return {"happened_on": day, "filed_at": datetime.combine(day, time(18), tzinfo=UTC)}


class TestCylindersOfADay:
    """The register of a past day shows what stood then, whatever was recorded since."""

    def listed(self, cylinder: Cylinder, on: date) -> dict[str, object]:
        made = document("cylinder-register", question(as_of=on, known_at=timezone.now()))
        return next(row for row in rows(made.tables[0]) if row["Serial number"] == cylinder.serial_number)

    def test_a_disposable_one_is_not_requalified(self, db: None) -> None:
        cylinder = CylinderFactory(kind=CylinderKind.DISPOSABLE, specification="DOT-39", requalified_on=None)

        row = self.listed(cylinder, NOW.date())

        assert row["Requalification"] == "none: never filled again"
        assert (row["Due on"], row["Period (years)"]) == (None, None)

    def test_it_stood_where_its_next_move_took_it_from(self, db: None) -> None:
        cylinder = CylinderFactory(place="shop", place_note="")
        move(cylinder, "van", technician=TechnicianFactory(), **on_day(date(2026, 6, 2)))

        assert self.listed(cylinder, date(2026, 6, 1))["Where"] == "Shop"
        assert self.listed(cylinder, date(2026, 6, 2))["Where"] != "Shop"

    def test_a_later_test_does_not_count_yet(self, db: None) -> None:
        cylinder = CylinderFactory(requalified_on=date(2021, 5, 10), requalification_period_years=5)
        requalify(cylinder, **on_day(date(2026, 5, 4)))

        assert self.listed(cylinder, date(2026, 5, 3))["Due on"] == date(2026, 5, 31)
        assert self.listed(cylinder, date(2026, 5, 4))["Due on"] == date(2031, 5, 31)


@pytest.fixture
def european(officer: User) -> None:
    """Two sites of the demo firm as if they stood in the European Union and in Great Britain."""
    busiest = Site.objects.annotate(visits=Count("appliances__service_events")).order_by("-visits", "pk")
    with time_machine.travel(NOW, tick=False):
        for site, jurisdiction in zip(busiest, (Jurisdiction.EU, Jurisdiction.UK), strict=False):
            site.jurisdiction = jurisdiction
            site.save()


@pytest.mark.usefixtures("european")
class TestEquipmentRecord:
    def test_every_european_and_british_appliance_has_its_section(self, officer: User) -> None:
        made = document("equipment-record", question())
        names = Appliance.objects.filter(
            site__jurisdiction__in=(Jurisdiction.EU, Jurisdiction.UK)
        ).values_list("name", flat=True)

        assert names
        assert len(made.sections) == 1 + len(names)
        assert all(any(name in section.title for section in made.sections) for name in names)
        assert sorted(row["Appliance"] for row in rows(made.tables[0])) == sorted(names)

    def test_masses_are_those_of_the_records(self, officer: User) -> None:
        made = document("equipment-record", question())
        for appliance in Appliance.objects.filter(site__jurisdiction__in=(Jurisdiction.EU, Jurisdiction.UK)):
            _, facts = appliance_facts(appliance)
            moved = sum(fact.mass_mg for fact in facts if fact.kind in {FactKind.ADDITION, FactKind.REMOVAL})
            (section,) = [
                one for one in made.sections if one.title == f"{appliance.site.name}: {appliance.name}"
            ]
            printed_kg = sum(row["Mass (kg)"] or 0 for row in rows(section.tables[0]))
            assert abs(printed_kg - Decimal(moved) / 1_000_000) < Decimal("0.01")

    # Source: the fields of Regulation (EU) 2024/573, Art. 7(1)(a) to (g).
    def test_the_pdf_has_the_fields_of_article_7(self, officer: User) -> None:
        text = pdf_text(printed("equipment-record", question()))
        for words in ("Art. 7(1)", "t CO2 equivalent", "Operator", "Leak check", "certificate"):
            assert words in text


# Source: Regulation (EU) 2024/573, Art. 7(1)(a), (d), (e): what was added at installation stands apart; reclaimed gas
# and where it came from; the certificates of the undertaking and of the person.
class TestFieldsOfArticle7:
    @pytest.fixture
    def rack(self, db: None) -> Appliance:
        return ApplianceFactory(site=SiteFactory(jurisdiction=Jurisdiction.EU), refrigerant="R-410A")

    def record(self, rack: Appliance) -> tuple[list[dict[str, object]], str]:
        made = document("equipment-record", question(appliance=rack, known_at=timezone.now()))
        _, section = made.sections
        return rows(section.tables[0]), " ".join((*section.paragraphs, *map(" ".join, made.facts)))

    def test_the_person_is_named_with_the_certificate_of_the_place(self, rack: Appliance) -> None:
        person = TechnicianFactory(certified="universal")
        CertificationFactory(
            technician=person, type="eu_category_i", number="I-1", issued_on=date(2018, 5, 2)
        )
        CertificationFactory(technician=person, type="eu_a1", number="A1-9", issued_on=date(2026, 4, 1))
        file_event(rack, technician=person, happened_on=date(2026, 3, 2))

        listed, _ = self.record(rack)

        assert listed[0]["Person and certificate"] == f"{person.full_name}, EU category I no. I-1"

    @pytest.mark.parametrize("status", ["reclaimed", "recycled"])
    @pytest.mark.parametrize(
        ("facility", "printed"),
        [
            ("Tallow Quay Reclaim\n3 Tallow Quay, Cork", "Tallow Quay Reclaim 3 Tallow Quay, Cork"),
            ("", "name and address not recorded"),
        ],
    )
    def test_used_gas_says_from_whom_and_where_it_was_made_fit_again(
        self, rack: Appliance, status: str, facility: str, printed: str
    ) -> None:
        supply = supply_cylinder(supply_status=status, facility=facility)
        file_event(rack, transfers=(charged(supply, "2 lb"),))

        listed, _ = self.record(rack)

        assert [row["Result or remark"] for row in listed if row["What"] == "Added"] == [
            f"Service; {status}, from Harbor Gas; facility: {printed}"
        ]

    def test_all_that_was_bought_since_the_cylinder_was_empty_counts(self, rack: Appliance) -> None:
        supply = supply_cylinder("2 lb", supply_status="recycled", facility="Tallow Quay, Cork")
        paper = {"by": UserFactory(), "cylinder": supply, "refrigerant": "R-410A", "filed_at": FILED_AT}
        later = BOOKS_BEGAN_ON + timedelta(days=1)
        bought = {"supplier_name": "Harbor Gas", "mass": entered("9 lb"), "happened_on": later}
        purchase_record(**paper, **bought)
        file_event(rack, transfers=(charged(supply, "11 lb"),), happened_on=date(2026, 2, 2))
        purchase_record(**paper, **{**bought, "happened_on": HAPPENED_ON})
        file_event(rack, transfers=(charged(supply, "1 lb"),))

        listed, _ = self.record(rack)

        assert [row["Result or remark"] for row in listed if row["What"] == "Added"] == [
            "Service; in part recycled, from Harbor Gas; facility: Tallow Quay, Cork",
            "Service",
        ]

    # Art. 8(6) asks for the statement; no record says where the firm or another recycled it.
    def test_what_was_recovered_and_recycled_says_so_without_a_facility(self, rack: Appliance) -> None:
        cylinder = CylinderFactory()
        file_event(rack, transfers=(recovered(cylinder, "5 lb"),))
        file_event(rack, transfers=(charged(cylinder, "2 lb", is_recycled=True),))

        listed, _ = self.record(rack)

        assert [row["Result or remark"] for row in listed if row["What"] == "Added"] == [
            "Service; recycled; facility: name and address not recorded"
        ]

    def test_what_came_at_installation_stands_apart(self, rack: Appliance) -> None:
        file_event(rack, transfers=(charged(supply_cylinder(), "2 lb", reason="installation"),))

        listed, said = self.record(rack)

        assert "Added at installation" in [row["What"] for row in listed]
        assert "Added at installation: 0.907 kg." in said

    def test_the_undertaking_is_named_with_its_certificate(self, rack: Appliance, settings) -> None:
        settings.FIRM_CERTIFICATE_EU = "EU-F-2041"

        assert "Its certificate in the European Union EU-F-2041" in self.record(rack)[1]


class TestCalifornia:
    def test_covered_and_not_covered_are_all_of_california(self, officer: User) -> None:
        tables = document("california-annual", question()).tables
        there = Appliance.objects.filter(site__jurisdiction=Jurisdiction.US_CALIFORNIA)

        assert len(tables[0].rows) + len(tables[2].rows) == there.count() > 0
        assert tables[0].rows

    def test_facilities_are_the_sums_of_their_systems(self, officer: User) -> None:
        for year in (2024, 2025, 2026):
            systems, facilities, _ = document("california-annual", question(year)).tables
            of_systems = sum(row["Charged (lb)"] for row in rows(systems))
            of_facilities = sum(row["Charged (lb)"] for row in rows(facilities))
            assert abs(of_systems - of_facilities) < Decimal("0.01")
