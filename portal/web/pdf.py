"""Prints templates as tagged PDF with the portal's own fonts; nothing is fetched from outside."""

import mimetypes
from collections.abc import Callable
from pathlib import Path
from typing import Any
from urllib.parse import unquote, urlsplit

from django.conf import settings
from django.contrib.staticfiles import finders
from django.contrib.staticfiles.storage import staticfiles_storage
from django.http import HttpRequest
from django.template.loader import render_to_string

#: A host that doesn't exist: relative addresses resolve against it, and the fetcher maps them to files.
PRINT_ORIGIN = "http://print.invalid/"


LETTER, A4 = "letter", "a4"


def asked_paper(request: HttpRequest) -> str:
    """US letter, or A4 (ISO 216) where the address asks for it with ``?paper=a4``."""
    return A4 if request.GET.get("paper") == A4 else LETTER


def static_file(url: str) -> Path:
    """Return the file behind a static address of a printed page.

    Raises:
        ValueError: the address is not one of the portal's static files.
    """
    name = unquote(urlsplit(url).path).removeprefix(f"/{settings.STATIC_URL.strip('/')}/")
    if not url.startswith(PRINT_ORIGIN):
        message = f"printed pages use the portal's static files only, not {url}"
        raise ValueError(message)
    found = finders.find(name)
    if found:
        return Path(found)
    # Collected files carry a hash in their names, which only the storage knows.
    collected = Path(staticfiles_storage.path(name))
    if collected.is_file():
        return collected
    message = f"the portal has no static file {name}"
    raise ValueError(message)


def _media_type(path: Path) -> str:
    return mimetypes.guess_type(path.name)[0] or "application/octet-stream"


def render_pdf(
    template_name: str,
    context: dict[str, Any],
    *,
    finisher: Callable[[Any, Any], None] | None = None,
    is_tagged: bool = True,
) -> bytes:
    """Render a template under templates/<app>/print/ as PDF/UA-1.

    Args:
        template_name: the template.
        context: what it prints.
        finisher: given the engine's laid out document and its PDF before that is written.
        is_tagged: whether it is a document that is read, and no mere drawing.

    Raises:
        FatalURLFetchingError: the page refers to something that is not a static file of the portal.
    """
    # The PDF engine takes half a second to import; no other page should wait for it.
    from weasyprint import HTML  # noqa: PLC0415
    from weasyprint.urls import FatalURLFetchingError, URLFetcher, URLFetcherResponse  # noqa: PLC0415

    class StaticFilesFetcher(URLFetcher):
        """Fetches the portal's static files from disk and refuses the rest."""

        def fetch(self, url: str, headers: dict[str, str] | None = None) -> URLFetcherResponse:
            if url.startswith("data:"):
                return super().fetch(url, headers)
            try:
                path = static_file(url)
            except ValueError as error:
                raise FatalURLFetchingError(str(error)) from error
            # Answered under the address asked for, so that what a stylesheet refers to resolves beside it.
            return URLFetcherResponse(url, path.read_bytes(), {"Content-Type": _media_type(path)})

    html = render_to_string(template_name, {"firm_name": settings.FIRM_NAME, **context})
    document = HTML(string=html, base_url=PRINT_ORIGIN, url_fetcher=StaticFilesFetcher())
    variant = "pdf/ua-1" if is_tagged else None
    return bytes(document.write_pdf(finisher=finisher, pdf_variant=variant))
