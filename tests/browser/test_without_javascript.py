"""Pages work where scripts don't run."""

import pytest
from playwright.sync_api import expect

from tests.browser.filing import pick, row, say_what_was_done, today_at_site, transfer_in
from tests.browser.office import press
from tests.browser.screens import Equip, OpenPage, Size, TakePicture

pytestmark = pytest.mark.browser


def test_technician_files_an_event_without_javascript(
    open_page: OpenPage, equip: Equip, size: Size, picture: TakePicture
):
    equipment = equip(size, charge_lb="63", contents_lb="20")
    page = open_page("technician", size, has_javascript=False)

    pick(page, equipment)
    expect(page.locator("#headroom")).to_contain_text("12.600 lb")
    picture(page, "form")
    say_what_was_done(page, "Topped up after the season.", "Service or maintenance")
    transfer_in(page, 1, equipment, "50", "lb")
    press(page, "File the event")
    expect(page.get_by_role("alert")).to_contain_text("Not filed yet")
    picture(page, "refused")
    row(page, "transfers", 1).locator("[name=transfers-0-mass_value]").fill("13")
    page.locator("summary", has_text="Owner told").click()
    page.get_by_label("Told on").fill(today_at_site().isoformat())
    page.get_by_label("Who was told").fill("Odette Varga")
    press(page, "File the event")

    # 13 lb of 63 lb in a year.
    expect(page.locator(".verdict-rate")).to_have_text("20.63 %")
    expect(page.locator(".verdict")).to_contain_text("Over the 20 % threshold")
    picture(page, "answer")


def test_officer_filters_the_board_without_javascript(open_page: OpenPage, size: Size, picture: TakePicture):
    page = open_page("compliance_officer", size, has_javascript=False)
    page.goto("/board/")

    page.get_by_text("Filter and order").click()
    page.get_by_label("State", exact=True).select_option(label="Overdue")
    press(page, "Search")

    rows = page.locator("#board tbody tr")
    expect(rows.first).to_contain_text("overdue")
    expect(rows.filter(has_not_text="overdue")).to_have_count(0)
    picture(page, "board-filtered")
