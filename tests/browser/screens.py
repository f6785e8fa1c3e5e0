"""The two screens that every path is walked on, and what the fixtures hand to a test."""

from collections.abc import Callable
from dataclasses import dataclass

from playwright.sync_api import Page

Size = dict[str, int]
PHONE: Size = {"width": 390, "height": 844}
DESK: Size = {"width": 1440, "height": 900}

OpenPage = Callable[..., Page]
TakePicture = Callable[[Page, str], None]


@dataclass(frozen=True)
class Equipment:
    """An appliance and a cylinder of its refrigerant, put on record for one test."""

    appliance: str
    appliance_url: str
    cylinder: str
    cylinder_url: str


Equip = Callable[..., Equipment]
