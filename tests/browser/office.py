"""What an office admin does on the pages of the registers, for every test that needs something on record."""

import re
from itertools import count

from playwright.sync_api import Locator, Page

from tests.browser.screens import Equipment, Size

#: The demo's technician signs in, and holds a certificate that covers every appliance.
UNIVERSAL_TECHNICIAN = "Tobias Oduya"

_numbers = count(1)


def own_name(name: str, size: Size) -> str:
    """A name that nothing else in this run has."""
    return f"{name} {size['width']}-{next(_numbers)}"


def box(page: Page | Locator, label: str) -> Locator:
    """The field with this label, marked as required or not."""
    return page.get_by_label(re.compile(rf"^\s*{re.escape(label)}\s*\*?\s*$"))


def type_mass(page: Page | Locator, field: str, figure: str, unit: str, ounces: str = "") -> None:
    """Type a mass into the boxes of ``field`` (its name in the form): figure, unit, ounces with lb + oz alone."""
    page.locator(f"[name={field}_unit]").select_option(label=unit)
    page.locator(f"[name={field}_value]").fill(figure)
    if ounces:
        page.locator(f"[name={field}_ounces]").fill(ounces)


def press(page: Page, button: str) -> None:
    """Press a button that sends the page, and wait for the answer."""
    with page.expect_navigation():
        page.get_by_role("button", name=button, exact=True).click()


def register_customer(page: Page, name: str) -> None:
    """Put a customer on record; its page is open afterwards."""
    page.goto("/customers/add/")
    box(page, "Name").fill(name)
    box(page, "Postal address").fill("5 Tanner's Yard\nLarkhollow, MN 55990")
    box(page, "Contact name").fill("Odette Varga")
    box(page, "E-mail address").fill("plant@varga.example")
    box(page, "Phone").fill("555-0290")
    press(page, "Add the customer")


def register_site(page: Page, name: str) -> None:
    """Put a site of the customer whose page is open on record; the site's page is open afterwards."""
    page.get_by_role("link", name="Add a site").first.click()
    box(page, "Name").fill(name)
    box(page, "Street").fill("5 Tanner's Yard")
    box(page, "City").fill("Larkhollow")
    box(page, "State or region").fill("MN")
    box(page, "Postal code").fill("55990")
    box(page, "Jurisdiction").select_option(label="United States")
    box(page, "Time zone").select_option(label="Central: Chicago")
    page.get_by_label("Annualizing method").check()
    press(page, "Add the site")


def fill_in_appliance(page: Page, name: str, *, refrigerant: str, technician: str) -> None:
    """Fill in an appliance's form, all but its full charge."""
    box(page, "Name").fill(name)
    box(page, "Category").select_option(label="Commercial refrigeration")
    box(page, "Serial number").fill("VK-30211")
    box(page, "Location at the site").fill("Machine room")
    box(page, "Installed on").fill("2019-05-01")
    box(page, "Refrigerant").fill(refrigerant)
    box(page, "Refrigerant").press("Tab")
    box(page, "How the full charge was determined").select_option(label="Manufacturer's figure")
    box(page, "Responsible technician").select_option(label=technician)


def register_cylinder(page: Page, serial_number: str, *, refrigerant: str, contents_lb: str) -> None:
    """Put a recovery cylinder on record with what it holds; its page is open afterwards."""
    page.goto("/cylinders/add/")
    box(page, "Serial number").fill(serial_number)
    box(page, "Kind").select_option(label="Recovery cylinder")
    box(page, "Specification").fill("DOT-4BA400")
    box(page, "Dedicated to").fill(refrigerant)
    type_mass(page, "water_capacity", "95.4", "lb")
    type_mass(page, "tare", "46.5", "lb")
    box(page, "Last requalified (or made) on").fill("2024-04-01")
    box(page, "Place").select_option(label="Van")
    box(page, "Which van, site or firm").fill("Van 1, Oduya")
    type_mass(page, "contents", contents_lb, "lb")
    box(page, "Weighed on").fill("2025-01-15")
    press(page, "Add the cylinder")


def register_equipment(page: Page, size: Size, *, charge_lb: str, contents_lb: str) -> Equipment:
    """Put an R-448A rack with no past, at the site whose page is open, and a cylinder for it on record."""
    appliance, cylinder = own_name("Rack", size), own_name("VRG", size)
    page.get_by_role("link", name="Add an appliance").first.click()
    fill_in_appliance(page, appliance, refrigerant="R-448A", technician=UNIVERSAL_TECHNICIAN)
    type_mass(page, "full_charge", charge_lb, "lb")
    press(page, "Add the appliance")
    appliance_url = page.url
    register_cylinder(page, cylinder, refrigerant="R-448A", contents_lb=contents_lb)
    return Equipment(appliance, appliance_url, cylinder, page.url)
