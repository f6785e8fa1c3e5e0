"""The way through the portal: one table of pages, shown to those who may open them."""

from dataclasses import dataclass

from django.http import HttpRequest
from django.urls import reverse

from portal.accounts.models import Role


@dataclass(frozen=True)
class Page:
    """One entry of the navigation.

    ``tab_roles`` are the roles whose phone tab bar holds it; ``prefixes`` are further paths
    below which it counts as the current one.
    """

    url_name: str
    label: str
    icon: str
    permission: str
    section: str
    tab_roles: tuple[Role, ...] = ()
    short_label: str = ""
    prefixes: tuple[str, ...] = ()


ADMIN, TECHNICIAN, OFFICER = Role.OFFICE_ADMIN, Role.TECHNICIAN, Role.COMPLIANCE_OFFICER

PAGES = (
    Page("event-pick", "File an event", "file-event", "jobs.add_serviceevent", "Work", (TECHNICIAN,), "File"),
    Page(
        "board",
        "Board",
        "board",
        "compliance.view_obligation",
        "Work",
        (OFFICER, TECHNICIAN),
        prefixes=("/obligations/",),
    ),
    Page("event-list", "Service events", "events", "jobs.view_serviceevent", "Work", (), "Events"),
    Page("properties", "Properties", "properties", "jobs.view_appliance", "Work"),
    Page("forecast-list", "Forecast", "forecast", "compliance.view_obligation", "Work"),
    Page("what-if", "What if", "what-if", "compliance.view_obligation", "Work"),
    Page("reminder-list", "Reminders", "reminders", "compliance.view_obligation", "Work", (OFFICER,)),
    Page(
        "report-list",
        "Reports",
        "reports",
        "compliance.view_reportrun",
        "Work",
        (OFFICER,),
        prefixes=("/packs/",),
    ),
    Page(
        "customer-list",
        "Customers",
        "customers",
        "jobs.view_customer",
        "Registers",
        (ADMIN,),
        prefixes=("/sites/", "/method-changes/"),
    ),
    Page(
        "appliance-list", "Appliances", "appliances", "jobs.view_appliance", "Registers", (ADMIN, TECHNICIAN)
    ),
    Page(
        "technician-list",
        "Technicians",
        "technicians",
        "jobs.view_technician",
        "Registers",
        (ADMIN,),
        prefixes=("/certifications/",),
    ),
    Page("cylinder-list", "Cylinders", "cylinders", "jobs.view_cylinder", "Registers", (ADMIN, TECHNICIAN)),
    Page(
        "instrument-list",
        "Instruments",
        "instruments",
        "jobs.view_instrument",
        "Registers",
        prefixes=("/recovery-machines/", "/calibrations/"),
    ),
    Page("rule-tables", "Rules", "rules", "compliance.view_obligation", "System"),
    Page("mailbox", "Mailbox", "mailbox", "accounts.view_mailbox", "System"),
    Page("status", "System status", "status", "compliance.view_taskrun", "System"),
)


@dataclass(frozen=True)
class NavItem:
    """A page as one person sees it in the navigation."""

    label: str
    short_label: str
    icon: str
    url: str
    section: str
    is_current: bool
    is_tab: bool


def nav_items(request: HttpRequest) -> list[NavItem]:
    """Return the pages that the signed-in person may open, in the table's order."""
    user = getattr(request, "user", None)
    if user is None or not user.is_authenticated:
        return []
    urls = {page: reverse(page.url_name) for page in PAGES if user.has_perm(page.permission)}
    current = _current(urls, request.path)
    return [
        NavItem(
            label=page.label,
            short_label=page.short_label or page.label,
            icon=page.icon,
            url=url,
            section=page.section,
            is_current=page is current,
            is_tab=any(user.has_role(role) for role in page.tab_roles),
        )
        for page, url in urls.items()
    ]


def _current(urls: dict[Page, str], path: str) -> Page | None:
    """Return the page under whose longest address ``path`` lies, if any."""
    candidates = [
        (len(prefix), page)
        for page, url in urls.items()
        for prefix in (url, *page.prefixes)
        if path.startswith(prefix)
    ]
    return max(candidates, key=lambda pair: pair[0])[1] if candidates else None
