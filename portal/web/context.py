"""What every page may show: the portal's name, the firm's, and the way through the portal."""

from typing import Any

from django.conf import settings
from django.http import HttpRequest
from django.utils.functional import SimpleLazyObject

from portal.web.navigation import nav_items

PORTAL_NAME = "Refrigerant compliance portal"


def site(request: HttpRequest) -> dict[str, Any]:
    """Return the names and the navigation that the page frame prints."""
    return {
        "portal_name": PORTAL_NAME,
        "firm_name": settings.FIRM_NAME,
        "portal_nav": SimpleLazyObject(lambda: nav_items(request)),
    }
