"""A technician files a visit over the threshold, its repair and its test, on a phone first."""

import re
from datetime import timedelta

import pytest
from playwright.sync_api import Page, expect

from tests.browser.filing import (
    file_it,
    find_leak,
    pick,
    row,
    say_what_was_done,
    sign,
    today_at_site,
    transfer_in,
)
from tests.browser.screens import Equip, Equipment, OpenPage, Size, TakePicture

pytestmark = pytest.mark.browser

#: Commercial refrigeration may lose 20 % of its full charge a year (40 CFR 84.106(c)(2)): 12.6 lb of 63 lb.
CHARGE_LB = "63"


def fill_in_visit_over_threshold(page: Page, equipment: Equipment) -> None:
    """14.5 lb in two transfers for one leak, signed, the owner told."""
    say_what_was_done(
        page, "Sight glass clear, flare nut retightened.", "Service or maintenance", "Leak inspection"
    )
    find_leak(page, "Flare fitting", "Liquid line at the receiver")
    transfer_in(page, 1, equipment, "10", "lb")
    row(page, "transfers", 1).get_by_label("For which leak").select_option("new-1")
    page.get_by_role("button", name="Add a transfer").click()
    transfer_in(page, 2, equipment, "4", "lb + oz", "8")
    row(page, "transfers", 2).get_by_label("For which leak").select_option("new-1")
    page.get_by_label("Told on").fill(today_at_site().isoformat())
    page.get_by_label("Who was told").fill("Odette Varga")
    page.get_by_role("radio", name="Accepted", exact=False).check()
    sign(page, "Odette Varga")


def fill_in_short_visit(page: Page, equipment: Equipment) -> None:
    """Two pounds added, nothing else."""
    say_what_was_done(page, "Filter drier changed.", "Service or maintenance")
    transfer_in(page, 1, equipment, "2", "lb")


def test_technician_files_visit_repair_and_test(
    open_page: OpenPage, equip: Equip, size: Size, picture: TakePicture
):
    equipment = equip(size, charge_lb=CHARGE_LB, contents_lb="40")
    page = open_page("technician", size)

    pick(page, equipment)
    headroom = page.locator("#headroom")
    expect(headroom).to_contain_text("12.600 lb")
    headroom.get_by_text("Because").click()
    expect(headroom).to_contain_text("84.106(c)(2)")
    picture(page, "empty-form")
    fill_in_visit_over_threshold(page, equipment)
    # 14.5 lb less 12.6 lb.
    expect(page.locator("[data-net]")).to_contain_text("1.900 lb")
    expect(page.locator("[data-net]")).to_contain_text("The owner has to be told")
    picture(page, "filled-in")
    file_it(page)

    # First calculation after 2026-01-01: the mass over the full charge, a whole year (40 CFR 84.106(b)(1)(i)).
    expect(page.locator(".verdict-rate")).to_have_text("23.02 %")
    expect(page.locator(".verdict")).to_contain_text(
        re.compile(r"14\.500 / 63\.000 × 365 / 365 × 100 = 23\.02 %")
    )
    repair = page.locator(".clock", has_text="Leak repair")
    # Thirty days for the repair (40 CFR 84.106(d)(1)).
    expect(repair).to_contain_text((today_at_site() + timedelta(days=30)).isoformat())
    expect(repair).to_contain_text("40 CFR 84.106(d)")
    expect(page.locator("svg.signature-drawing path")).to_have_attribute("d", re.compile(r"^M\d+ \d+L"))
    expect(page.get_by_text("Tell the owner now")).to_have_count(0)
    picture(page, "answer-over-threshold")

    page.goto("/events/add/")
    card = page.get_by_role("listitem").filter(
        has=page.get_by_role("link", name=equipment.appliance, exact=True)
    )
    card.get_by_role("link", name="Leak repair").click()
    picture(page, "repair-form")
    say_what_was_done(page, "Flare remade and torqued.", "Verification test")
    repaired = row(page, "repairs", 1)
    expect(repaired.get_by_label("Leak", exact=True)).to_have_value(re.compile(r"\d+"))
    repaired.get_by_label("What was done").fill("Flare remade with a new nut")
    tested = row(page, "tests", 1)
    tested.get_by_label("Leak", exact=True).select_option(index=1)
    tested.get_by_role("radio", name="Initial").check()
    tested.get_by_label("How it was tested").fill("Nitrogen pressure and bubble solution")
    tested.get_by_role("radio", name="Passed").check()
    picture(page, "repair-filled-in")
    file_it(page)
    met = page.locator(".clock-met")
    expect(met.filter(has_text="Leak repair")).to_be_visible()
    expect(met.filter(has_text="Initial verification test")).to_be_visible()
    follow_up = page.locator(".clock:not(.clock-met)", has_text="Follow-up verification test")
    # Ten days after the passed initial test (40 CFR 84.106(e)(2)).
    expect(follow_up).to_contain_text((today_at_site() + timedelta(days=10)).isoformat())
    picture(page, "answer-met")

    page.goto(equipment.appliance_url)
    expect(page.locator("main")).to_contain_text("Flare fitting")
    picture(page, "appliance")


def test_mass_beyond_the_cylinder_is_refused_with_everything_kept(
    open_page: OpenPage, equip: Equip, size: Size, picture: TakePicture
):
    equipment = equip(size, charge_lb=CHARGE_LB, contents_lb="5")
    page = open_page("technician", size)
    pick(page, equipment)

    say_what_was_done(page, "Topped up.", "Service or maintenance")
    transfer_in(page, 1, equipment, "6.5", "lb")
    expect(row(page, "transfers", 1).locator("[data-live=cylinder]")).to_contain_text("can't come out of it")
    sign(page, "Odette Varga")
    file_it(page)

    expect(page.get_by_role("alert")).to_contain_text("Not filed yet")
    expect(page.get_by_role("alert")).to_be_focused()
    card = row(page, "transfers", 1)
    expect(card.locator("[data-field=mass] .field-error")).to_contain_text("5.000 lb")
    expect(card.locator("[name=transfers-0-mass_value]")).to_have_value("6.5")
    expect(card.get_by_label("Cylinder", exact=True)).to_have_value(re.compile(r"\d+"))
    expect(page.get_by_label("Parts and work")).to_have_value("Topped up.")
    expect(page.get_by_label("Customer's name")).to_have_value("Odette Varga")
    expect(page.locator("[data-signature-path]")).to_have_value(re.compile(r"^M\d"))
    picture(page, "refused")
    # Its link leads to the box to mend.
    page.get_by_role("alert").get_by_role("link").first.click()
    expect(page.locator("[name=transfers-0-mass_value]")).to_be_focused()


def test_event_sent_again_answers_with_the_first_record(
    open_page: OpenPage, equip: Equip, size: Size, picture: TakePicture
):
    equipment = equip(size, charge_lb=CHARGE_LB, contents_lb="5")
    page = open_page("technician", size)
    pick(page, equipment)
    fill_in_short_visit(page, equipment)
    with page.expect_request(lambda request: request.method == "POST") as sent:
        file_it(page)
    first = page.get_by_role("heading", level=1).inner_text()

    # The answer got lost on its way, so the phone sends the same again.
    answer = page.request.post(
        sent.value.url,
        data=sent.value.post_data_buffer,
        headers={"Referer": sent.value.url, "Content-Type": sent.value.headers["content-type"]},
    )
    assert "filed=again" in answer.url
    # The technician goes back, finds an empty form and files the same again.
    page.go_back()
    expect(page.get_by_label("Parts and work")).to_have_value("")
    fill_in_short_visit(page, equipment)
    file_it(page)

    expect(page.get_by_role("heading", level=1)).to_have_text(first)
    expect(page.get_by_role("status").first).to_contain_text("Already filed")
    picture(page, "already-filed")
    page.goto(equipment.cylinder_url)
    expect(page.locator("main")).to_contain_text("3.000")


def test_draft_survives_a_reload(open_page: OpenPage, equip: Equip, size: Size, picture: TakePicture):
    equipment = equip(size, charge_lb=CHARGE_LB, contents_lb="40")
    page = open_page("technician", size)
    pick(page, equipment)
    fill_in_visit_over_threshold(page, equipment)
    expect(page.locator("[data-draft-state]")).to_contain_text("Draft kept")

    page.reload()
    offer = page.locator("[data-draft-offer]")
    expect(offer).to_be_visible()
    picture(page, "draft-offered")
    offer.get_by_role("button", name="Go on with it").click()

    expect(page.get_by_label("Parts and work")).to_have_value("Sight glass clear, flare nut retightened.")
    expect(row(page, "transfers", 2).locator("[name=transfers-1-mass_ounces]")).to_have_value("8")
    expect(row(page, "transfers", 2).get_by_label("For which leak")).to_have_value("new-1")
    expect(row(page, "leaks", 1).get_by_label("Leaking part")).to_have_value("Flare fitting")
    picture(page, "draft-restored")
    file_it(page)
    expect(page.locator(".verdict-rate")).to_have_text("23.02 %")
    pick(page, equipment)
    expect(page.locator("[data-draft-offer]")).to_be_hidden()
