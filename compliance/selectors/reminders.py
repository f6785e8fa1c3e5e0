"""What is to be reminded of, who is reminded, and what has been sent."""

import datetime
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace

from django.db.models import Exists, F, OuterRef, Q, QuerySet, Subquery
from django.urls import reverse

from compliance.models import MessageState, Obligation, ObligationStatus, Reminder, ReminderChannel
from compliance.selectors.acknowledgements import acknowledged_at
from compliance.selectors.expiries import Expiry, still_runs
from compliance.selectors.milestones import NEVER_REMINDED
from compliance.selectors.site_dates import SiteDates
from jobs.models import Technician
from portal.accounts.models import Role, User

PENDING = (ObligationStatus.OPEN, ObligationStatus.OVERDUE)
# What the log may be asked for beside states.
IN_DOUBT = "in-doubt"
LOG_CHOICES = [*MessageState.choices, (IN_DOUBT, "Arrival in doubt")]

# Whoever holds one of these opens the form of a visit, or of a filing about a case.
MAY_FILE_VISITS = "jobs.add_serviceevent"
MAY_FILE_ABOUT_CASES = "jobs.add_casefiling"


@dataclass(frozen=True)
class Recipient:
    """A person to remind; without a user it is a customer's contact, who doesn't sign in.

    Attributes:
        email: where e-mails go.
        name: of the person.
        role: why this person is reminded, in words.
        user: as whom the person signs in.
        files_by: the permission by which the person files what settles an obligation, empty for who files nothing.
    """

    email: str
    name: str
    role: str
    user: User | None = None
    files_by: str = ""

    @property
    def channels(self) -> tuple[ReminderChannel, ...]:
        """How the person is reached."""
        if self.user is None:
            return (ReminderChannel.EMAIL,)
        return (ReminderChannel.EMAIL, ReminderChannel.PORTAL)


def obligations_to_remind(
    now: datetime.datetime, notice_days: int, appliance_ids: Iterable[int] | None = None
) -> QuerySet[Obligation]:
    """Pending obligations whose due date is near or past, as the dates at their sites have it.

    Args:
        now: the instant asked about.
        notice_days: a due date is near so many days before it.
        appliance_ids: of these appliances alone; of all unless given.
    """
    last_on = SiteDates(now).today("appliance__site__time_zone", days_later=notice_days)
    obligations = (
        _pending()
        .alias(last_on=last_on)
        .filter(due_on__lte=F("last_on"))
        .select_related(
            "appliance__site__customer",
            "appliance__technician__user",
            "assignment__technician__user",
            "assignment__user",
        )
        .order_by("pk")
    )
    return obligations if appliance_ids is None else obligations.filter(appliance__in=appliance_ids)


def obligations_reminded_to(user: User) -> QuerySet[Obligation]:
    """Pending obligations with a due date, however far, of which a person who signs in is one of the recipients.

    :func:`recipients` answers the same from the obligation's side.
    """
    obligations = _pending().exclude(due_on=None).select_related("appliance__site__customer")
    if not user.is_active:
        return obligations.none()
    if user.has_role(Role.COMPLIANCE_OFFICER):
        return obligations
    looks_after = Q(appliance__technician__is_active=True, appliance__technician__user=user)
    given = Q(assignment__technician__is_active=True, assignment__technician__user=user)
    return obligations.filter(looks_after | given | Q(assignment__user=user))


def compliance_officers() -> list[User]:
    """The people who watch the clocks."""
    return list(_of_role(Role.COMPLIANCE_OFFICER))


def office_admins() -> list[User]:
    """The people who keep the registers."""
    return list(_of_role(Role.OFFICE_ADMIN))


def why_not_reminded(technician: Technician) -> str:
    """Why no reminder reaches a technician, in words; empty if one does."""
    if not technician.is_active:
        return "no longer works for the firm"
    if technician.user is None:
        return "has no sign-in"
    return "" if technician.user.is_active else "has a sign-in that is closed"


def recipients(obligation: Obligation, officers: Iterable[User]) -> list[Recipient]:
    """Who is reminded of an obligation.

    Those are whoever was given it, the appliance's technician, the officers, and the customer's contact where agreed;
    each address once, a person who signs in before a contact with the same address.
    :func:`still_addressed` asks the database the same.
    """
    people: dict[str, Recipient] = {}
    for person in _people(obligation, officers):
        people.setdefault(person.email.lower(), person)
    return list(people.values())


def officer_recipients(officers: Iterable[User]) -> list[Recipient]:
    """The officers as recipients."""
    return [
        Recipient(officer.email, officer.full_name, "compliance officer", officer, MAY_FILE_ABOUT_CASES)
        for officer in officers
    ]


def _people(obligation: Obligation, officers: Iterable[User]) -> Iterator[Recipient]:
    given = obligation.assignment
    if given:
        yield from _technician(given.technician, "has it")
        if given.user and given.user.is_active:
            # Of the office: a technician is given things as such.
            yield Recipient(
                given.user.email, given.user.full_name, "has it", given.user, MAY_FILE_ABOUT_CASES
            )
    yield from _technician(obligation.appliance.technician, "looks after the appliance")
    yield from officer_recipients(officers)
    customer = obligation.appliance.site.customer
    if customer.is_reminded and customer.email:
        yield Recipient(customer.email, customer.contact_name or customer.name, "for the customer")


def _technician(technician: Technician | None, role: str) -> Iterator[Recipient]:
    if technician and technician.user and not why_not_reminded(technician):
        yield Recipient(technician.user.email, technician.full_name, role, technician.user, MAY_FILE_VISITS)


def expiry_recipients(expiry: Expiry, officers: Iterable[User], office: Iterable[User]) -> list[Recipient]:
    """Who is reminded of what runs out: the technician whose it is, the officers and the office; each once.

    :func:`still_addressed` asks the database the same.

    Args:
        expiry: what runs out.
        officers: the compliance officers.
        office: the office admins, who keep the registers.
    """
    people = list(_technician(expiry.technician, "holds it"))
    people += officer_recipients(officers)
    people += [Recipient(user.email, user.full_name, "office admin", user) for user in office]
    by_email: dict[str, Recipient] = {}
    for person in people:
        files = person.user is not None and person.user.has_perm(expiry.form_permission)
        by_email.setdefault(
            person.email.lower(), replace(person, files_by=expiry.form_permission if files else "")
        )
    return list(by_email.values())


def still_pending() -> Exists:
    """A condition on reminders of appliances: what they are about is pending with the due date that they name."""
    return Exists(
        Obligation.objects.filter(key=OuterRef("owed_key"), due_on=OuterRef("due_on"), status__in=PENDING)
    )


def still_owed() -> Q:
    """A condition on reminders: what they are about is pending with the due date that they name, or still runs out."""
    return Q(still_pending()) | (Q(appliance=None) & still_runs())


def still_addressed() -> Exists:
    """A condition on reminders: whom they address is still one of their recipients, at that address.

    Those are the :func:`recipients` of an obligation, or the :func:`expiry_recipients` of what runs out.
    """
    customer = "appliance__site__customer__"
    signs_in = Q(user__is_active=True, user__email__iexact=F("recipient_email"))
    is_technician = Q(appliance__technician__is_active=True, appliance__technician__user=F("user"))
    given = Q(assignment__user=OuterRef("user")) | Q(
        assignment__technician__is_active=True, assignment__technician__user=OuterRef("user")
    )
    has_it = Q(Exists(Obligation.objects.filter(given, key=OuterRef("owed_key"))))
    is_contact = Q(
        ("user", None),
        (f"{customer}is_reminded", True),
        (f"{customer}email__iexact", F("recipient_email")),
    )
    holds_it = Q(technician__is_active=True, technician__user=F("user"))
    keeps_registers = Q(appliance=None, user__in=_of_role(Role.OFFICE_ADMIN))
    is_officer = Q(user__in=_of_role(Role.COMPLIANCE_OFFICER))
    of_the_firm = is_technician | has_it | holds_it | keeps_registers | is_officer
    is_recipient = (signs_in & of_the_firm) | is_contact
    return Exists(Reminder.objects.filter(is_recipient, pk=OuterRef("pk")))


def inbox(user: User) -> QuerySet[Reminder]:
    """A person's own reminders in the portal, those not acknowledged first, by due date; not those no longer owed.

    Left out, read or not, are those of what is settled or due on another date by now, and those that are somebody
    else's by now. Each comes with ``obligation_id`` and ``acknowledged_at``.
    """
    obligation = Obligation.objects.filter(key=OuterRef("owed_key")).values("pk")
    reminders = Reminder.objects.filter(
        still_owed(), still_addressed(), user=user, channel=ReminderChannel.PORTAL, state=MessageState.SENT
    ).annotate(obligation_id=Subquery(obligation[:1]), acknowledged_at=acknowledged_at())
    return reminders.order_by(
        F("acknowledged_at").desc(nulls_first=True), F("read_at").desc(nulls_first=True), "due_on", "pk"
    )


def reminder_page(reminder: Reminder) -> str:
    """The path of the page that shows what a reminder of the :func:`inbox` is about."""
    if reminder.technician_id:
        return reverse("technician-detail", args=[reminder.technician_id])
    if reminder.cylinder_id:
        return reverse("cylinder-detail", args=[reminder.cylinder_id])
    if reminder.instrument_id:
        return reverse("instrument-detail", args=[reminder.instrument_id])
    obligation_id: int = reminder.obligation_id  # type: ignore[attr-defined]  # an annotation
    return reverse("obligation-detail", args=[obligation_id])


def unread_reminder_count(user: User) -> int:
    """How many reminders in the portal a person hasn't read."""
    return inbox(user).filter(read_at=None).count()


def reminder_log(*, state: str = "", search: str = "") -> QuerySet[Reminder]:
    """Every e-mail to everyone, newest first.

    Args:
        state: one of ``LOG_CHOICES``; all unless given.
        search: part of the recipient's address or name, or of the subject.
    """
    reminders = Reminder.objects.filter(channel=ReminderChannel.EMAIL)
    if state == IN_DOUBT:
        reminders = reminders.filter(undecided_count__gt=0).exclude(state=MessageState.SENDING)
    elif state:
        reminders = reminders.filter(state=state)
    if search := search.strip():
        reminders = reminders.filter(
            Q(recipient_email__icontains=search)
            | Q(recipient_name__icontains=search)
            | Q(subject__icontains=search)
        )
    return reminders


def _pending() -> QuerySet[Obligation]:
    return Obligation.objects.filter(status__in=PENDING).exclude(kind__in=NEVER_REMINDED)


def _of_role(role: Role) -> QuerySet[User]:
    return User.objects.filter(is_active=True, groups__name=role.value)
