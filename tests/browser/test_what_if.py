"""A technician tries a visit out on a phone before it happens, and hands the answer on as a link."""

import re

import pytest
from playwright.sync_api import Page, expect

from tests.browser.screens import PHONE, OpenPage, TakePicture

pytestmark = pytest.mark.browser


def add_pounds(page: Page, on: str, pounds: str) -> None:
    page.get_by_label("What else happens").select_option(label="Refrigerant added")
    page.get_by_role("button", name="Add it").click()
    card = page.get_by_role("group", name="Refrigerant added").last
    expect(card.get_by_label("Date", exact=True)).to_be_focused()
    card.get_by_label("Date", exact=True).fill(on)
    card.get_by_label("Mass added").fill(pounds)


def test_technician_sees_the_verdict_change(open_page: OpenPage, picture: TakePicture):
    page = open_page("technician", PHONE)
    page.goto("/what-if/")
    page.get_by_label("Refrigerant", exact=True).select_option("R-410A")
    page.get_by_label("Full charge").fill("100")
    page.get_by_label("Asked about the day").fill("2026-09-01")

    # 10 lb of 100 lb is the threshold of comfort cooling, and not over it (40 CFR 84.106(c)(2)).
    add_pounds(page, "2026-03-02", "10")
    picture(page, "row-added")
    page.get_by_role("button", name="See what the law makes of it").click()
    expect(page.locator(".verdict-under")).to_contain_text("10.00 %")
    expect(page.get_by_text("Nothing is owed.")).to_be_visible()

    page.get_by_role("button", name="Change: Refrigerant added").click()
    # The row takes the focus a moment after it opens, and would take what is typed at that very moment.
    expect(page.get_by_label("Date", exact=True)).to_be_focused()
    page.get_by_label("Mass added").fill("10.1")
    # Enter asks, and doesn't press the first button of the rows.
    page.get_by_label("Mass added").press("Enter")
    expect(page.locator(".verdict-over")).to_contain_text("10.10 %")
    # Thirty days for the repair (40 CFR 84.106(d)(1)).
    expect(page.locator(".clock", has_text="Leak repair")).to_contain_text("2026-04-01")
    picture(page, "over-the-threshold")

    page.goto(page.get_by_role("link", name="Link to this what-if").get_attribute("href"))
    expect(page.locator(".verdict-rate")).to_have_text("10.10 %")
    page.get_by_role("button", name=re.compile("^Remove: Refrigerant added")).click()
    expect(page.get_by_role("button", name=re.compile("^Change:"))).to_have_count(0)
