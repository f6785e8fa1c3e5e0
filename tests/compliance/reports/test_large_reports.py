"""A report of more appliances than anyone waits for is made in the background, in whatever form it is asked for."""

from urllib.parse import parse_qs, urlsplit

import pytest
from django.test import Client
from django.urls import reverse

from compliance.services.reports.catalogue import REPORTS
from compliance.views import reports
from jobs.models import Customer
from portal.accounts.models import User
from tests import people
from tests.compliance.firm import add_appliance

SLUGS = [report.slug for report in REPORTS]


@pytest.fixture
def customer(admin: User, client: Client, monkeypatch: pytest.MonkeyPatch) -> Customer:
    """Who has an appliance more than the most that a page waits for."""
    monkeypatch.setattr(reports, "SCREEN_APPLIANCES_MAX", 2)
    first = add_appliance(admin)
    for number in range(2):
        add_appliance(admin, f"Rack {number}", site=first.site)
    client.force_login(people.officer())
    return first.site.customer


@pytest.mark.parametrize("form", ["csv", "zip", "xlsx"])
@pytest.mark.parametrize("slug", SLUGS)
def test_a_file_leads_to_the_page_that_runs_it(
    client: Client, customer: Customer, slug: str, form: str
) -> None:
    asked = {"customer": str(customer.pk), "as_of": "2026-11-24", "table": "1"}

    answer = client.get(reverse("report-file", args=[slug, form]), asked)
    page = client.get(answer.url)

    assert urlsplit(answer.url).path == reverse("report", args=[slug])
    assert parse_qs(urlsplit(answer.url).query) == {name: [value] for name, value in asked.items()}
    assert f"The {form.upper()} takes longer" in page.text
    assert "This is about 3 appliances" in page.text
    assert f'action="{reverse("report-run-add", args=[slug])}"' in page.text
    assert "document" not in page.context


def test_one_more_appliance_makes_the_difference(
    client: Client, customer: Customer, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(reports, "SCREEN_APPLIANCES_MAX", 3)

    for form in ("csv", "zip", "xlsx"):
        assert client.get(reverse("report-file", args=["mass-balance", form])).status_code == 200
    assert "This is about" not in client.get(reverse("report", args=["mass-balance"])).text
