"""What a technician does on the form of a service event, with a finger or a mouse."""

from datetime import date, datetime
from zoneinfo import ZoneInfo

from playwright.sync_api import Locator, Page

from tests.browser.office import press, type_mass
from tests.browser.screens import PHONE, Equipment

#: The time zone of the sites that the tests put on record.
SITE_TIME_ZONE = ZoneInfo("America/Chicago")

#: A stroke across the signature pad, as fractions of its width and height.
STROKE = ((0.10, 0.60), (0.22, 0.25), (0.30, 0.75), (0.45, 0.30), (0.58, 0.70), (0.80, 0.40))


def today_at_site() -> date:
    """The date at the site, from which deadlines count."""
    return datetime.now(SITE_TIME_ZONE).date()


def pick(page: Page, equipment: Equipment) -> None:
    """Search for the appliance among those to file for, and open its form."""
    page.goto("/events/add/")
    page.get_by_role("searchbox").fill(equipment.appliance)
    press(page, "Search")
    page.get_by_role("link", name=equipment.appliance, exact=True).click()
    page.locator("[data-event-form]").wait_for()


def row(page: Page, rows: str, number: int) -> Locator:
    """The numbered row, from 1, of those in sight: transfers, leaks, repairs, tests or statements."""
    return page.locator(f"[data-rows={rows}] > [data-row]:visible").nth(number - 1)


def say_what_was_done(page: Page, words: str, *kinds: str) -> None:
    """Tick kinds of work and type what was done."""
    for kind in kinds:
        page.get_by_role("checkbox", name=kind, exact=True).check()
    page.get_by_label("Parts and work").fill(words)


def transfer_in(
    page: Page, number: int, equipment: Equipment, figure: str, unit: str, ounces: str = ""
) -> None:
    """Fill in a transfer row: this mass out of the cylinder and into the appliance."""
    card = row(page, "transfers", number)
    card.get_by_role("radio", name="Into the appliance").check()
    cylinder = card.get_by_label("Cylinder", exact=True)
    cylinder.select_option(cylinder.locator("option", has_text=equipment.cylinder).get_attribute("value"))
    type_mass(card, f"transfers-{number - 1}-mass", figure, unit, ounces)


def find_leak(page: Page, part: str, place: str) -> None:
    """Record a complete inspection with an electronic detector that found one leak."""
    page.get_by_role("checkbox", name="Electronic detector", exact=True).check()
    page.get_by_role("button", name="Add a leak").click()
    leak = row(page, "leaks", 1)
    leak.get_by_label("Leaking part").fill(part)
    leak.get_by_label("Where it is").fill(place)


def sign(page: Page, name: str) -> None:
    """Type a name and draw a signature, with a finger on a phone and a mouse at a desk."""
    page.get_by_label("Customer's name").fill(name)
    pad = page.locator("[data-signature-pad]")
    # The bar with the button covers the foot of a phone's screen.
    pad.evaluate("pad => pad.scrollIntoView({ block: 'center' })")
    frame = pad.bounding_box()
    points = [(frame["x"] + x * frame["width"], frame["y"] + y * frame["height"]) for x, y in STROKE]
    if page.viewport_size == PHONE:
        _draw_with_finger(page, points)
    else:
        page.mouse.move(*points[0])
        page.mouse.down()
        for x, y in points[1:]:
            page.mouse.move(x, y, steps=5)
        page.mouse.up()


def _draw_with_finger(page: Page, points: list[tuple[float, float]]) -> None:
    touch = page.context.new_cdp_session(page)
    kinds = ("touchStart", *("touchMove" for _ in points[1:]))
    for kind, (x, y) in zip(kinds, points, strict=True):
        touch.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": [{"x": x, "y": y}]})
    touch.send("Input.dispatchTouchEvent", {"type": "touchEnd", "touchPoints": []})


def file_it(page: Page) -> None:
    """File the event and wait for the answer."""
    press(page, "File the event")
