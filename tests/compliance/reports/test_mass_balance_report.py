"""The mass balance: books that close, two balances that agree, and figures that are the ledger's."""

from datetime import date
from decimal import Decimal

import pytest

from compliance.rulebook.inventory import GwpBasis, co2e_t, gwp
from compliance.rulebook.refrigerants import find
from compliance.selectors.reports.mass_balance import AFTER, BEFORE
from jobs.models import Customer, HolderKind, Transfer
from portal.accounts.models import User
from tests.compliance.reports.asking import document, pdf_text, printed, question

SLUG = "mass-balance"
YEARS = (2024, 2025, 2026)
TITLES = ("The firm's stock", "To the air: HFCs", "To the air: ozone", "Checked by")


def sections(
    year: int, customer: Customer | None = None, **options: str
) -> dict[str, list[dict[str, object]]]:
    """Each section's first table as dictionaries."""
    made = document(SLUG, question(year, customer, options=options))
    return {
        section.title: [
            dict(zip(section.tables[0].header, row, strict=True)) for row in section.tables[0].rows
        ]
        for section in made.sections
    }


@pytest.mark.parametrize("year", YEARS)
def test_every_refrigerant_is_in_balance(officer: User, year: int) -> None:
    rows = sections(year)["The firm's stock"]

    assert rows
    assert {row["Out of balance (lb)"] for row in rows} == {Decimal("0.000")}


@pytest.mark.parametrize("year", YEARS[1:])
def test_a_year_ends_as_the_next_begins(officer: User, year: int) -> None:
    ends = {
        row["Refrigerant"]: row["In stock at the end (lb)"] for row in sections(year - 1)["The firm's stock"]
    }
    begins = {
        row["Refrigerant"]: row["In stock at the beginning (lb)"]
        for row in sections(year)["The firm's stock"]
    }

    assert {name: mass for name, mass in ends.items() if mass} == {
        name: mass for name, mass in begins.items() if mass
    }


@pytest.mark.parametrize("year", YEARS)
def test_both_balances_agree_but_for_charges_determined_anew(officer: User, year: int) -> None:
    rows = sections(year)["Checked by the full material balance"]

    assert rows
    assert {row["Unexplained (lb)"] for row in rows} == {Decimal("0.000")}


def test_the_firm_is_the_sum_of_its_customers(officer: User) -> None:
    firm = sections(2026)
    for title in ("To the air: HFCs and other substitutes", "To the air: Ozone-depleting refrigerants"):
        of_customers: dict[object, Decimal] = {}
        for customer in Customer.objects.all():
            for row in sections(2026, customer)[title]:
                name = row["Refrigerant"]
                of_customers[name] = of_customers.get(name, Decimal(0)) + row["To the air (kg)"]
        for row in firm[title]:
            assert abs(row["To the air (kg)"] - of_customers[row["Refrigerant"]]) < Decimal("0.01")


def test_purchases_are_the_ledgers(officer: User) -> None:
    bought = sum(
        Transfer.objects.filter(
            from_holder__kind=HolderKind.SUPPLIER, happened_on__range=(date(2025, 1, 1), date(2025, 12, 31))
        ).values_list("mass_mg", flat=True)
    )

    rows = sections(2025)["The firm's stock"]

    assert bought > 0
    assert abs(sum(row["Bought (lb)"] for row in rows) - Decimal(bought) / Decimal("453592.37")) < Decimal(
        "0.01"
    )


@pytest.mark.parametrize("basis", GwpBasis)
def test_the_chosen_basis_is_used_and_named(officer: User, basis: GwpBasis) -> None:
    rows = sections(2026, gwp_basis=basis.value)["To the air: HFCs and other substitutes"]
    text = pdf_text(printed(SLUG, question(2026, options={"gwp_basis": basis.value})))

    assert basis.in_words in text
    for row in rows:
        potential = gwp(find(row["Refrigerant"]), basis)
        assert row["GWP"] == potential
        equivalent = co2e_t(int(row["To the air (kg)"] * 1_000_000), potential)
        assert abs(row["CO2 equivalent (t)"] - equivalent) < Decimal("0.01")


def test_every_kind_of_holder_has_its_column() -> None:
    columns = {kind for _, kinds in (*BEFORE, *AFTER) for kind in kinds}

    assert columns | {HolderKind.APPLIANCE, HolderKind.CYLINDER} == set(HolderKind)
