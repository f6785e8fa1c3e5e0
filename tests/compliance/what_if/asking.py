"""How the tests ask the what-if page, and how they read what it answers."""

import html
import json
import re
from typing import Any

from django.http import HttpResponse
from django.test import Client
from django.urls import reverse

Fields = dict[str, Any]

PAGE = "/what-if/"

# A comfort cooling appliance with 100 lb of R-410A: 40 CFR 84.106 applies from 2026 on, threshold 10 %.
APPLIANCE: Fields = {
    "as_of": "2026-09-01",
    "rules": ["us-federal"],
    "category": "comfort_cooling",
    "refrigerant": "R-410A",
    "full_charge_value": "100",
    "full_charge_ounces": "",
    "full_charge_unit": "lb",
    "leak_rate_method": "annualizing",
    "installed_on": "2019-05-01",
}


def row(place: int, kind: str, on: str, **boxes: Any) -> Fields:
    """The boxes of one open row."""
    return {f"facts-{place}-{name}": value for name, value in {"kind": kind, "on": on, **boxes}.items()}


def added(place: int, on: str, pounds: str, **boxes: Any) -> Fields:
    """A row that says that pounds were added in service."""
    mass = {"mass_value": pounds, "mass_ounces": "", "mass_unit": "lb", "reason": "service"}
    return row(place, "addition", on, **mass, **boxes)


def closed(place: int, on: str = "2026-03-02", **keys: Any) -> Fields:
    """One row that was read before: 12 lb added, unless told of another kind."""
    what = {} if "kind" in keys else {"kind": "addition", "mass": {"value": 12, "unit": "lb"}}
    return {f"facts-{place}-json": json.dumps({"on": on, **what, **keys})}


def ask(client: Client, *rows: Fields, do: str = "", **appliance: Any) -> HttpResponse:
    """Send the page, and go where it leads."""
    fields = {**APPLIANCE, **appliance, **({"do": do} if do else {})}
    for boxes in rows:
        fields |= boxes
    return client.post(reverse("what-if"), fields, follow=True)


def words(response: HttpResponse) -> str:
    """What the page says, without its tags."""
    text = re.sub(r"<[^>]*>", " ", response.text)
    return re.sub(r"\s+", " ", html.unescape(text).replace("\u00a0", " "))


def shown_json(response: HttpResponse) -> str:
    """What the page's JSON box holds."""
    box = re.search(r'<textarea[^>]*name="json"[^>]*>(.*?)</textarea>', response.text, re.DOTALL)
    assert box is not None
    return html.unescape(box[1]).strip()


def shown_case(response: HttpResponse) -> Any:
    """The same, parsed."""
    return json.loads(shown_json(response))
