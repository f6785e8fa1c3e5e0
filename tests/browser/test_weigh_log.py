"""A technician on a phone attaches a scale's log, answers what it leaves open, and takes its mass over."""

from datetime import datetime, time
from pathlib import Path

import pytest
from playwright.sync_api import expect

from tests.browser.filing import file_it, pick, row, say_what_was_done, today_at_site
from tests.browser.screens import PHONE, Equip, OpenPage, TakePicture
from tests.scale_logs import scale_log

pytestmark = pytest.mark.browser


def _at_work() -> datetime:
    """Two in the afternoon of the day on which the visit is filed."""
    return datetime.combine(today_at_site(), time(14))


def test_log_on_the_phone(open_page: OpenPage, equip: Equip, picture: TakePicture, tmp_path: Path):
    equipment = equip(PHONE, charge_lb="63", contents_lb="40")
    log = tmp_path / "scale-7.csv"
    log.write_bytes(scale_log(3_250, header=False, starts_at=_at_work()))
    page = open_page("technician", PHONE)
    pick(page, equipment)
    say_what_was_done(page, "Charge trimmed.", "Service or maintenance")
    card = row(page, "transfers", 1)
    cylinder = card.get_by_label("Cylinder", exact=True)
    cylinder.select_option(cylinder.locator("option", has_text=equipment.cylinder).get_attribute("value"))

    card.get_by_label("The scale's log").set_input_files(log)
    expect(card.get_by_text("Nothing is guessed")).to_be_visible()
    picture(page, "log-question")
    card.get_by_label("Unit of the weight").select_option("lb")
    expect(card.locator(".log-net-figure")).to_have_text("3.250\u00a0lb")
    card.locator("[name=transfers-0-mass_value]").fill("3.5")
    card.locator("[name=transfers-0-mass_value]").blur()
    expect(card.locator(".log-verdict-off")).to_contain_text("0.250 lb more than the log's")
    picture(page, "log-differs")

    # A dead browser loses nothing: the draft remembers which file was sent.
    expect(page.locator("[data-draft-state]")).to_contain_text("Draft kept")
    page.reload()
    page.get_by_role("button", name="Go on with it").click()
    expect(card.locator(".log-net-figure")).to_have_text("3.250\u00a0lb")

    card.get_by_role("button", name="Use the log's mass").click()
    expect(card.locator("[name=transfers-0-mass_value]")).to_have_value("3.250")
    expect(card.get_by_text("agrees with the log")).to_be_visible()
    file_it(page)

    expect(page.get_by_text("Mass agrees")).to_be_visible()
    expect(page.locator(".chart-narrow svg.chart")).to_be_visible()
    expect(page.locator(".chart-broad svg.chart")).to_be_hidden()
    expect(page.get_by_role("img", name="Weight and flow", exact=False)).to_be_visible()
    expect(page.locator("main")).to_contain_text(today_at_site().isoformat())
    picture(page, "log-on-record")
