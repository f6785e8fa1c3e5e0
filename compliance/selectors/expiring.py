"""What runs out as reminders tell of it, and as its page lists it."""

import datetime
from collections.abc import Iterable
from dataclasses import dataclass

from compliance.rulebook.expiries import ExpiryKind
from compliance.selectors.acknowledgements import open_escalations
from compliance.selectors.expiries import Expiry, expiries, firm_date
from compliance.selectors.owed import Owed, obligations_by_key
from compliance.selectors.wording import runs_out_in_words
from portal.accounts.models import Role, User

# From so many days before the last day on the list says that it is near.
SOON_DAYS = 30


@dataclass(frozen=True)
class Expiring(Owed):
    """One thing that runs out, in words; its due date is the last day on which it counts."""

    @property
    def when(self) -> str:
        """How far off the last day is, in words."""
        return runs_out_in_words(self.days_left)

    @property
    def due_label(self) -> str:
        """What the due date is called."""
        return "Last day"

    @property
    def late_label(self) -> str:
        """What it is called once its last day has passed."""
        return "Ran out"

    @property
    def counted_where(self) -> str:
        """It is a day at the firm."""
        return ""


def expiring(expiry: Expiry) -> Expiring:
    """What runs out, in words."""
    return Expiring(
        key=expiry.key,
        kind=expiry.kind,
        name=expiry.name,
        to_do=expiry.to_do,
        due_on=expiry.last_on,
        today=expiry.today,
        place=f"{expiry.what}, {expiry.whose}",
        location=expiry.whose if expiry.cylinder else "",
        facts=(
            ("What", expiry.what),
            ("Technician" if expiry.technician else "Where" if expiry.cylinder else "Make", expiry.whose),
        ),
        because=expiry.last_day.because,
        rule="What runs out",
        source=expiry.last_day.source,
        met_by=expiry.met_by,
        page=expiry.page,
        form=expiry.form,
        form_name=expiry.form_name,
        page_name="Its page",
        form_permission=expiry.form_permission,
        is_confirmed=expiry.last_day.is_confirmed,
    )


@dataclass(frozen=True)
class ExpiryFilter:
    """What to list; what is empty doesn't narrow.

    Attributes:
        search: words, each part of what runs out or whose it is.
        kind: of this kind alone.
        within_days: what has run out, or will within so many days; 0: what has run out alone.
    """

    search: str = ""
    kind: str = ""
    within_days: int | None = None


@dataclass(frozen=True)
class ExpiryRow:
    """One line of the list; ``form`` is empty for who may not file what settles it."""

    expiry: Expiry
    form: str
    is_escalated: bool

    @property
    def when(self) -> str:
        """How far off the last day is, as a badge says it."""
        return self.expiry.when.capitalize()

    @property
    def stands(self) -> str:
        """Where it stands, in a status word."""
        if self.expiry.days_left < 0:
            return "overdue"
        return "due_soon" if self.expiry.days_left <= SOON_DAYS else "open"


def expiry_list(wanted: ExpiryFilter, today: datetime.date) -> list[Expiry]:
    """What runs out, the soonest first.

    Args:
        wanted: what to list.
        today: the date at the firm.
    """
    kinds = (wanted.kind,) if wanted.kind else tuple(ExpiryKind)
    return [
        expiry
        for expiry in expiries(today, kinds=kinds)
        if _is_within(expiry, wanted.within_days) and _tells_of(expiry, wanted)
    ]


def expiry_rows(page: Iterable[Expiry], viewer: User) -> list[ExpiryRow]:
    """Those of one page as lines of the list, for who looks at it."""
    page = list(page)
    told = set(
        open_escalations()
        .filter(owed_key__in=[expiry.key for expiry in page])
        .values_list("owed_key", "due_on")
    )
    return [
        ExpiryRow(
            expiry,
            expiry.form if viewer.has_perm(expiry.form_permission) else "",
            is_escalated=(expiry.key, expiry.last_on) in told,
        )
        for expiry in page
    ]


def ran_out_count(found: Iterable[Expiry]) -> int:
    """How many of them have run out already."""
    return sum(expiry.days_left < 0 for expiry in found)


def _is_within(expiry: Expiry, days: int | None) -> bool:
    return days is None or expiry.days_left < 0 or (days > 0 and expiry.days_left <= days)


def _tells_of(expiry: Expiry, wanted: ExpiryFilter) -> bool:
    text = f"{expiry.what} {expiry.whose}".casefold()
    return all(word in text for word in wanted.search.casefold().split())


def expiring_to(user: User, now: datetime.datetime) -> list[Expiring]:
    """All that runs out of which a person who signs in is reminded, however far off, the soonest first.

    ``compliance.selectors.reminders.expiry_recipients`` answers the same from the thing's side.
    """
    is_told_all = user.has_role(Role.COMPLIANCE_OFFICER) or user.has_role(Role.OFFICE_ADMIN)
    if not user.is_active:
        return []
    return [
        expiring(expiry)
        for expiry in expiries(firm_date(now))
        if is_told_all or (expiry.technician and expiry.technician.user_id == user.pk)
    ]


def owed_by_key(keys: Iterable[str], now: datetime.datetime) -> dict[str, Owed]:
    """Those of the keys that are owed on a date or run out, in words."""
    wanted = set(keys)
    found = obligations_by_key(wanted, now)
    if left := wanted - found.keys():
        running = expiries(firm_date(now))
        found.update({expiry.key: expiring(expiry) for expiry in running if expiry.key in left})
    return found
