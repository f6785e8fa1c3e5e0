"""Main pages at both sizes: no serious barrier that axe finds, nothing too wide, nothing too small to hit."""

import pytest
from axe_playwright_python.sync_playwright import Axe

from tests.browser.screens import PHONE, OpenPage, Size, TakePicture

pytestmark = pytest.mark.browser

#: Rules of WCAG 2.2 at levels A and AA, and axe's own good practice, by how much they stand in someone's way.
IMPACTS = ("serious", "critical")

#: Target size (minimum) of WCAG 2.2, success criterion 2.5.8, in CSS pixels. Links within a sentence are exempt.
TARGET_PX = 24

PAGES = {
    "": ("/sign-in/",),
    "office_admin": (
        "/customers/",
        "/customers/1/",
        "/customers/1/sites/add/",
        "/sites/1/",
        "/sites/1/appliances/add/",
        "/appliances/",
        "/technicians/",
        "/technicians/1/",
        "/certifications/2/renew/",
        "/board/running-out/",
        "/cylinders/",
        "/cylinders/1/",
        "/cylinders/add/",
        "/cylinders/41/",
        "/cylinders/41/weighings/add/",
        "/cylinders/41/moves/add/",
        "/cylinders/41/sales/add/",
        "/cylinders/48/heel-removals/add/",
        "/stock-movements/90/receipts/add/",
        "/cylinders/stock/",
        "/cylinders/reconciliation/",
        "/instruments/",
        "/instruments/1/",
        "/instruments/1/calibrations/add/",
        "/recovery-machines/1/",
    ),
    "technician": (
        "/events/add/",
        "/appliances/2/events/add/?settles=repair",
        "/events/200/",
        "/appliances/2/",
        "/what-if/?appliance=2",
        "/forecast/",
        "/board/calendar/",
        "/events/241/",
        "/properties/",
        "/properties/chart/",
        "/properties/full-charge/",
        "/properties/residual/",
        "/properties/cylinder/",
        "/cylinders/1/pressure-check/",
        "/rules/",
    ),
    "compliance_officer": (
        "/board/",
        "/obligations/1/",
        "/sites/5/",
        "/sites/5/leak-rate-method/",
        "/sites/5/leak-rate-method/correct/",
        "/method-changes/1/",
        "/events/",
        "/events/200/amend/",
        "/reports/",
        "/reports/annual-leak-rate/?year=2025&customer=1",
        "/reports/disposal/",
        "/reports/mass-balance/",
        "/reports/equipment-record/",
        "/reports/california-annual/",
        "/reports/technician-roster/",
        "/reports/cylinder-register/",
        "/packs/",
        "/cylinders/49/requalification-periods/add/",
        "/weighings/3/adjust/",
        "/reminders/",
        "/reminders/mine/",
        "/reminders/plans/",
        "/reminders/plans/repair/",
        "/mailbox/",
        "/status/",
    ),
}

SMALL_TARGETS = """least => [...document.querySelectorAll("main button, main select, main input:not([type=hidden])")]
  .filter(target => target.checkVisibility({ visibilityProperty: true }))
  .map(target => target.closest("label") ?? target)
  .map(target => [target.outerHTML.slice(0, 90), target.getBoundingClientRect()])
  .filter(([, { width, height }]) => width && height && (width < least || height < least))
  .map(([html]) => html)"""


@pytest.mark.parametrize("role", PAGES)
def test_main_pages_have_no_serious_barrier(open_page: OpenPage, size: Size, picture: TakePicture, role: str):
    page = open_page(role, size)
    barriers, small = [], []
    for address in PAGES[role]:
        page.goto(address)
        picture(page, address.partition("?")[0].strip("/").replace("/", "-"))
        found = Axe().run(page).response["violations"]
        barriers += [
            (address, violation["id"], [node["target"] for node in violation["nodes"]])
            for violation in found
            if violation["impact"] in IMPACTS
        ]
        if size == PHONE:
            small += [(address, html) for html in page.evaluate(SMALL_TARGETS, TARGET_PX)]

    assert barriers == []
    assert small == []
