"""A compliance officer watches the board, asks why, corrects a record and runs the annual report."""

import csv
import re
import time
from io import BytesIO
from pathlib import Path

import pytest
from openpyxl import load_workbook
from playwright.sync_api import Page, expect
from pypdf import PdfReader

from portal.celery import BEAT_SCHEDULE
from tests.browser.filing import file_it, pick, row, say_what_was_done, transfer_in
from tests.browser.office import box, press, type_mass
from tests.browser.screens import PHONE, Equip, OpenPage, Size, TakePicture

pytestmark = pytest.mark.browser

#: A customer of the demo firm with overdue clocks and rates over their threshold.
CUSTOMER = "Harrowgate Fresh Markets"

#: The scheduler raises reminders as it starts and the worker sends them within a minute.
DELIVERY_LIMIT_S = 150


def test_officer_finds_what_is_overdue_and_reads_why(open_page: OpenPage, size: Size, picture: TakePicture):
    page = open_page("compliance_officer", size)
    page.goto("/board/")

    rows = page.locator("#board tbody tr")
    expect(rows.first).to_contain_text("overdue")
    standings = list(rows.all_inner_texts())
    overdue = ["overdue" in text for text in standings]
    assert overdue == sorted(overdue, reverse=True)
    picture(page, "board")
    if size == PHONE:
        page.get_by_text("Filter and order").click()
    page.get_by_label("Customer", exact=True).select_option(label=CUSTOMER)
    expect(page).to_have_url(re.compile(r"customer=\d+"))
    expect(page.locator("#board")).not_to_contain_text("Ostrander Polymers")
    page.get_by_label("State", exact=True).select_option(label="Overdue")
    expect(page).to_have_url(re.compile(r"state=overdue"))
    expect(rows.filter(has_not_text="overdue")).to_have_count(0)
    expect(rows.filter(has_text=CUSTOMER).first).to_be_visible()
    picture(page, "board-filtered")

    page.locator("#board").get_by_role("link", name="Leak repair").first.click()
    expect(page.get_by_role("heading", level=1)).to_contain_text("Leak repair")
    expect(page.locator(".because").first).to_contain_text("+ 30 days")
    expect(page.locator("main")).to_contain_text(re.compile(r"40 CFR (84\.106|82\.157)\(d\)"))
    picture(page, "obligation")


def download(page: Page, name: str, folder: Path) -> Path:
    """Press what downloads a file, and keep it."""
    with page.expect_download() as started:
        page.get_by_role("link", name=name).click()
    path = folder / started.value.suggested_filename
    started.value.save_as(path)
    return path


def test_officer_runs_the_annual_report(
    open_page: OpenPage, size: Size, picture: TakePicture, tmp_path: Path
):
    page = open_page("compliance_officer", size)
    page.goto("/reports/")
    picture(page, "reports")
    page.get_by_role("link", name="Annual leak rate report").first.click()
    box(page, "Customer").select_option(label=CUSTOMER)
    year = box(page, "Year").input_value()
    press(page, "Show")
    expect(page.get_by_role("heading", level=1)).to_contain_text(year)
    expect(page.locator("main")).to_contain_text("Over the threshold")
    rates = re.findall(r"\d+\.\d\d %", page.locator("main").inner_text())
    assert rates
    picture(page, "report")

    press(page, "Print as PDF and keep")
    link = page.get_by_role("link", name="PDF", exact=True)
    expect(link).to_be_visible(timeout=60_000)
    picture(page, "run")
    pdf = PdfReader(BytesIO(page.request.get(link.get_attribute("href")).body()))
    printed = " ".join(" ".join(sheet.extract_text() for sheet in pdf.pages).split())
    assert len(pdf.pages) >= 2
    assert CUSTOMER in printed
    assert f"of {len(pdf.pages)}" in printed
    assert "40 CFR 84.106" in printed
    for rate in rates:
        assert rate in printed
    page.get_by_text("One table as CSV").click()
    with download(page, "Additions", tmp_path).open(newline="", encoding="utf-8-sig") as file:
        table = list(csv.reader(file))
    column = table[0].index("Leak rate (%)")
    assert {f"{line[column]} %" for line in table[1:]} <= set(rates)
    assert len(table) > 1
    assert len({len(line) for line in table}) == 1
    sheets = load_workbook(download(page, "XLSX", tmp_path))
    assert any(CUSTOMER in str(cell.value) for line in sheets.worksheets[0].iter_rows() for cell in line)

    page.goto("/reports/")
    expect(page.locator("main")).to_contain_text(CUSTOMER)
    picture(page, "printed")


def test_officer_amends_a_record(open_page: OpenPage, equip: Equip, size: Size, picture: TakePicture):
    equipment = equip(size, charge_lb="63", contents_lb="40")
    technician = open_page("technician", size)
    pick(technician, equipment)
    say_what_was_done(technician, "Topped up.", "Service or maintenance")
    transfer_in(technician, 1, equipment, "15", "lb")
    file_it(technician)
    expect(technician.locator(".verdict")).to_contain_text("Over the 20 % threshold")
    page = open_page("compliance_officer", size)

    page.goto(technician.url.partition("?")[0])
    page.get_by_role("link", name="Amend", exact=True).click()
    card = row(page, "transfers", 1)
    expect(card.locator("[name=transfers-0-mass_value]")).to_have_value("15")
    press(page, "File the amendment")
    expect(page.get_by_role("alert")).to_contain_text("Reason")
    page.get_by_label("Reason", exact=True).first.fill("The scale was read in the wrong line: 1.5 lb.")
    type_mass(row(page, "transfers", 1), "transfers-0-mass", "1.5", "lb")
    picture(page, "amendment")
    press(page, "File the amendment")

    expect(page.locator(".verdict")).to_contain_text("Not over the 20 % threshold")
    # 1.5 lb of 63 lb in a year.
    expect(page.locator(".verdict-rate")).to_have_text("2.38 %")
    expect(page.locator("main")).to_contain_text("The scale was read in the wrong line")
    picture(page, "amended")
    page.goto(technician.url.partition("?")[0])
    expect(page.locator("main")).to_contain_text("This record was replaced")
    picture(page, "replaced")
    page.goto(equipment.cylinder_url)
    expect(page.locator("main")).to_contain_text("38.500")


def test_reminders_are_raised_sent_and_read(open_page: OpenPage, size: Size, picture: TakePicture):
    """The worker and the scheduler run beside the web server: nobody calls a task here."""
    page = open_page("compliance_officer", size)
    subject = re.compile(r"Follow-up verification test \d+ days overdue: Potato store cooler")
    message = page.get_by_role("link", name=subject)
    give_up_at = time.monotonic() + DELIVERY_LIMIT_S
    page.goto("/mailbox/")
    while not message.count() and time.monotonic() < give_up_at:
        further = page.get_by_role("link", name="Next")
        if further.count():
            further.click()
        else:
            page.wait_for_timeout(1000)
            page.goto("/mailbox/")
    picture(page, "mailbox")
    message.first.click()
    expect(page.locator("main")).to_contain_text("Warehouse 2")
    picture(page, "message")

    page.goto("/reminders/")
    inbox = page.locator("main")
    expect(inbox.get_by_role("link", name=re.compile(r"Leak repair .*overdue")).first).to_be_visible()
    expect(page.get_by_role("heading", level=1)).to_have_text("Reminders")
    unread = page.get_by_role("button", name="Mark as read").count()
    picture(page, "inbox")
    page.get_by_role("button", name="Mark as read").first.click()
    expect(page.get_by_role("button", name="Mark as read")).to_have_count(unread - 1)
    page.goto("/reminders/log/")
    expect(page.locator("main")).to_contain_text("Sent")
    picture(page, "log")


def test_status_page_tells_that_everything_runs(open_page: OpenPage, size: Size, picture: TakePicture):
    page = open_page("compliance_officer", size)
    page.goto("/status/")
    give_up_at = time.monotonic() + DELIVERY_LIMIT_S
    # One that runs at this moment says so instead.
    while (
        page.get_by_text("On time", exact=True).count() < len(BEAT_SCHEDULE) and time.monotonic() < give_up_at
    ):
        page.wait_for_timeout(1000)
        page.reload()

    expect(page.get_by_role("heading", level=1)).to_have_text("System status")
    expect(page.get_by_text("On time", exact=True)).to_have_count(len(BEAT_SCHEDULE))
    expect(page.locator("main")).to_contain_text("Rulebook")
    picture(page, "status")
