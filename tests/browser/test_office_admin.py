"""An office admin puts a customer, a site, an appliance, a technician and a cylinder on record."""

import pytest
from playwright.sync_api import expect

from tests.browser.office import (
    UNIVERSAL_TECHNICIAN,
    box,
    fill_in_appliance,
    own_name,
    press,
    register_customer,
    register_cylinder,
    register_site,
    type_mass,
)
from tests.browser.screens import OpenPage, Size, TakePicture

pytestmark = pytest.mark.browser


def test_office_admin_registers_customer_site_and_appliance(
    open_page: OpenPage, size: Size, picture: TakePicture
):
    customer, appliance = own_name("Wrenfield Dairy", size), own_name("Cold store", size)
    page = open_page("office_admin", size)

    register_customer(page, customer)
    expect(page.get_by_role("heading", level=1)).to_have_text(customer)
    picture(page, "customer")
    register_site(page, "North yard")
    expect(page.get_by_text("America/Chicago")).to_be_visible()
    picture(page, "site")
    page.get_by_role("link", name="Add an appliance").first.click()
    fill_in_appliance(page, appliance, refrigerant="R-32", technician=UNIVERSAL_TECHNICIAN)
    expect(page.locator("#refrigerant-cautions")).to_contain_text("A2L")
    type_mass(page, "full_charge", "60", "lb + oz", "8")
    picture(page, "appliance-filled-in")
    press(page, "Add the appliance")

    expect(page.get_by_role("heading", level=1)).to_have_text(appliance)
    # 60 lb 8 oz is 60.5 lb; the pound is 0.45359237 kg exactly (international yard and pound agreement, 1959).
    expect(page.locator("main")).to_contain_text("60.500 lb")
    expect(page.locator("main")).to_contain_text("27.442 kg")
    picture(page, "appliance")


def test_appliance_form_refuses_no_charge_and_a_technician_without_the_certificate(
    open_page: OpenPage, size: Size, picture: TakePicture
):
    page = open_page("office_admin", size)
    page.goto("/technicians/add/")
    technician = own_name("Sunniva Prior", size)
    box(page, "Full name").fill(technician)
    box(page, "Phone").fill("555-0151")
    press(page, "Add the technician")
    page.get_by_role("link", name="Add a certificate").click()
    box(page, "Type").select_option(label="Type I: small appliances")
    box(page, "Certificate number").fill("I-80045")
    box(page, "Issued by").fill("Northern Lakes Technical Institute")
    box(page, "Issued on").fill("2023-03-14")
    press(page, "Add the certificate")
    expect(page.locator("main")).to_contain_text("I-80045")
    picture(page, "technician")
    register_customer(page, own_name("Pell Orchards", size))
    register_site(page, "Packing hall")
    page.get_by_role("link", name="Add an appliance").first.click()

    fill_in_appliance(page, "Apple store", refrigerant="R-410A", technician=technician)
    type_mass(page, "full_charge", "0", "kg")
    press(page, "Add the appliance")
    charge = page.locator("#div_id_full_charge")
    expect(charge).to_contain_text("0")
    expect(charge.locator(".invalid-feedback, .field-error").first).to_be_visible()
    expect(box(page, "Name")).to_have_value("Apple store")
    picture(page, "charge-of-zero")
    type_mass(page, "full_charge", "22.7", "kg")
    press(page, "Add the appliance")
    # Type I covers small appliances alone: five pounds or less (40 CFR 82.161(b)(1), 82.152 "small appliance").
    expect(page.locator("#div_id_technician")).to_contain_text("40 CFR 82.161")
    expect(page.locator("[name=full_charge_value]")).to_have_value("22.7")
    picture(page, "certificate-does-not-cover-it")
    box(page, "Responsible technician").select_option(label="Wilhelmina Achterberg")
    press(page, "Add the appliance")
    expect(page.get_by_role("heading", level=1)).to_have_text("Apple store")


def test_office_admin_registers_a_recovery_cylinder(open_page: OpenPage, size: Size, picture: TakePicture):
    page = open_page("office_admin", size)
    serial_number = own_name("WRN", size)

    register_cylinder(page, serial_number, refrigerant="R-448A", contents_lb="12.5")

    expect(page.get_by_role("heading", level=1)).to_contain_text(serial_number)
    # What the scale shows: 12.5 lb of refrigerant over a tare of 46.5 lb.
    expect(page.locator("main")).to_contain_text("12.500")
    expect(page.locator("main")).to_contain_text("59.000")
    # A recovery cylinder is requalified every five years (49 CFR 180.209(a)).
    expect(page.locator("main")).to_contain_text("2029-04")
    picture(page, "cylinder")
