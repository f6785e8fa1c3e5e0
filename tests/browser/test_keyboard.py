"""Everything is reached and worked with the keyboard alone, and seen to be."""

import re

import pytest
from django.utils import timezone
from playwright.sync_api import Locator, Page, expect

from portal.demo.firm import read_firm
from tests.browser.filing import pick, row
from tests.browser.screens import Equip, OpenPage, Size, TakePicture

pytestmark = pytest.mark.browser

#: Far more stops than any page needs between two fields.
STOPS_MAX = 80


def tab_to(page: Page, target: Locator) -> None:
    """Press Tab until the target holds the focus; each stop on the way can be seen."""
    for _ in range(STOPS_MAX):
        if target.evaluate("element => element === document.activeElement"):
            return
        page.keyboard.press("Tab")
    pytest.fail(f"Tab doesn't lead to {target}")


def test_technician_signs_in_and_files_an_event_with_the_keyboard(
    open_page: OpenPage, equip: Equip, size: Size, picture: TakePicture
):
    equipment = equip(size, charge_lb="63", contents_lb="5")
    firm = read_firm(timezone.localdate())
    page = open_page("", size)

    page.goto("/sign-in/")
    tab_to(page, page.get_by_label("E-mail address"))
    page.keyboard.type(next(user["email"] for user in firm.data["users"] if user["role"] == "technician"))
    page.keyboard.press("Tab")
    page.keyboard.type(firm.password)
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", level=1)).to_have_text("Which appliance?")
    page.keyboard.press("Tab")
    expect(page.get_by_role("link", name="Skip to the content")).to_be_focused()
    expect(page.get_by_role("link", name="Skip to the content")).to_be_in_viewport()
    picture(page, "skip-link")
    page.keyboard.press("Enter")
    expect(page.locator("#main")).to_be_focused()
    page.keyboard.press("Tab")
    expect(page.get_by_role("searchbox")).to_be_focused()
    page.keyboard.type(equipment.appliance)
    page.keyboard.press("Enter")
    tab_to(page, page.get_by_role("link", name=equipment.appliance, exact=True))
    page.keyboard.press("Enter")
    page.locator("[data-event-form]").wait_for()
    tab_to(page, page.get_by_role("checkbox", name="Service or maintenance", exact=True))
    page.keyboard.press("Space")
    tab_to(page, page.get_by_label("Parts and work"))
    page.keyboard.type("Door gasket and fan belt looked at.")
    tab_to(page, page.get_by_role("button", name="File the event"))
    picture(page, "filled-in")
    page.keyboard.press("Enter")

    expect(page.get_by_role("heading", level=1)).to_have_text(re.compile(r"^SE-\d+$"))
    expect(page.locator("main")).to_contain_text("Door gasket and fan belt looked at.")


def test_sections_and_rows_work_with_the_keyboard(
    open_page: OpenPage, equip: Equip, size: Size, picture: TakePicture
):
    equipment = equip(size, charge_lb="63", contents_lb="5")
    page = open_page("technician", size)
    pick(page, equipment)

    tab_to(page, page.locator("summary", has_text="Leak inspection"))
    page.keyboard.press("Enter")
    tab_to(page, page.get_by_role("button", name="Add a leak"))
    page.keyboard.press("Space")
    part = row(page, "leaks", 1).get_by_label("Leaking part")
    expect(part).to_be_focused()
    page.keyboard.type("Brazed joint")
    tab_to(page, row(page, "leaks", 1).get_by_label("Where it is"))
    page.keyboard.press("Shift+Tab")
    expect(part).to_have_value("Brazed joint")
    picture(page, "leak-typed")
    page.keyboard.press("Shift+Tab")
    page.keyboard.press("Enter")
    expect(part).to_have_count(0)
    expect(page.get_by_role("button", name="Add a leak")).to_be_focused()
