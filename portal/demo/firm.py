"""Reads fixtures/demo/firm.toml into plain values. No database here."""

import tomllib
from dataclasses import dataclass
from datetime import date, timedelta
from pathlib import Path
from typing import Any

FIRM_FILE = Path(__file__).resolve().parents[2] / "fixtures" / "demo" / "firm.toml"


@dataclass(frozen=True)
class Firm:
    """The firm as its file tells it, with the day it is told on."""

    today: date
    data: dict[str, Any]

    @property
    def password(self) -> str:
        """The one password of all demo sign-ins."""
        return str(self.data["firm"]["password"])

    @property
    def books_began_on(self) -> date:
        """The day from which the demo's records run."""
        return self.today - timedelta(days=self.data["firm"]["books_began_days_ago"])

    def installed_on(self, appliance: dict[str, Any]) -> date:
        """The installation date, fixed or relative to today."""
        if "installed_days_ago" in appliance:
            return self.today - timedelta(days=appliance["installed_days_ago"])
        return date.fromisoformat(appliance["installed"])


def read_firm(today: date) -> Firm:
    """Read the firm's file."""
    with FIRM_FILE.open("rb") as file:
        return Firm(today=today, data=tomllib.load(file))
