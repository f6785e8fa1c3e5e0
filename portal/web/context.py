"""What every page may show: the portal's name and the firm's."""

from django.conf import settings
from django.http import HttpRequest


def site(request: HttpRequest) -> dict[str, object]:  # noqa: ARG001
    """Return the names that the page frame prints."""
    return {"portal_name": "Refrigerant compliance portal", "firm_name": settings.FIRM_NAME}
