"""A person switches their calendar on, copies its address, and a calendar program reads it; the same ends it again."""

import re

import pytest
import vobject
from axe_playwright_python.sync_playwright import Axe

from tests.browser.screens import OpenPage, Size, TakePicture
from tests.browser.test_accessibility import IMPACTS

pytestmark = pytest.mark.browser


def test_a_calendar_is_switched_on_copied_read_and_switched_off(
    open_page: OpenPage, size: Size, picture: TakePicture
):
    page = open_page("technician", size)
    page.context.grant_permissions(["clipboard-read", "clipboard-write"])
    page.goto("/reminders/mine/")
    page.get_by_role("button", name="Switch on").click()
    page.get_by_role("button", name="Copy the address").click()
    page.get_by_role("status").filter(has_text=re.compile("Copied")).wait_for()
    picture(page, "address")
    assert [row["id"] for row in Axe().run(page).response["violations"] if row["impact"] in IMPACTS] == []
    address = page.evaluate("navigator.clipboard.readText()")
    assert address == page.get_by_label("Your private address").input_value()

    stranger = open_page("", size).request
    text = stranger.get(address).text()
    events = vobject.readOne(text).vevent_list
    assert f"It holds {len(events)} entries now." in page.locator("main").inner_text()

    page.get_by_role("button", name="Renew the address").click()
    assert stranger.get(address).status == 404
    assert page.get_by_label("Your private address").input_value() != address
    page.get_by_role("button", name="Switch off").click()
    page.get_by_text("It is switched off.").wait_for()
