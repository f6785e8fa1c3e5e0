"""On which paper a document for a site is printed."""

from jobs.models import Jurisdiction, Site
from portal.web.pdf import A4, LETTER

__all__ = ["A4", "LETTER", "paper_of"]

ON_LETTER = frozenset({Jurisdiction.US_FEDERAL, Jurisdiction.US_CALIFORNIA})


def paper_of(site: Site) -> str:
    """US letter for sites in the United States, A4 (ISO 216) elsewhere."""
    return LETTER if site.jurisdiction in ON_LETTER else A4
