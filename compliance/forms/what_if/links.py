"""A whole history in an address: its JSON, compressed, so that a what-if can be kept and passed on as a link."""

import base64
import binascii
import zlib
from typing import Any

from compliance.rulebook.document import Document, document_json
from compliance.rulebook.errors import InvalidInput
from compliance.rulebook.parse import parse_json

# Web servers take request lines of about 4,000 characters; mail programs break much longer links.
LINK_LENGTH_MAX = 3_000
# Far above what compresses to a link of that length in earnest; a small bomb isn't unpacked further.
UNPACKED_MAX = 200_000


def packed(case: Document) -> str:
    """A history as text for an address; empty where it is too long for one."""
    squeezed = zlib.compress(document_json(case, indent=None).encode(), 9)
    text = base64.urlsafe_b64encode(squeezed).decode().rstrip("=")
    return text if len(text) <= LINK_LENGTH_MAX else ""


def unpacked(text: str) -> Any:
    """Read what :func:`packed` made.

    Raises:
        InvalidInput: cut short, changed, or never made here.
    """
    reader = zlib.decompressobj()
    try:
        squeezed = base64.urlsafe_b64decode(text + "=" * (-len(text) % 4))
        content = reader.decompress(squeezed, UNPACKED_MAX).decode()
    except (ValueError, binascii.Error, zlib.error):
        content = ""
    if not reader.eof or not content:
        raise InvalidInput("case", text, "a whole link of this page")
    return parse_json(content)
