"""What the demo firm did at its desks: gave obligations to people, was reminded, answered, and let a reminder wait."""

from dataclasses import dataclass
from datetime import datetime, time, timedelta

from django.utils import timezone

from compliance.models import AcknowledgementWay, MessageState, Obligation, Reminder, ReminderChannel
from compliance.selectors.reminders import obligations_to_remind
from compliance.services.assignments import obligation_assign
from compliance.services.reminders.acknowledging import reminder_acknowledge
from compliance.services.reminders.raising import reminders_raise
from compliance.services.reminders.sending import reminder_claim, reminder_deliver
from jobs.models import Appliance, Technician
from portal.accounts.models import Role, User
from portal.demo.registers import Registers

#: Longer ago than it takes until the officers are told that nobody acknowledged a reminder.
REMINDED_DAYS_AGO = 6
#: What is due within so many days is what people are given.
GIVEN_WITHIN_DAYS = 400


@dataclass(frozen=True)
class DemoAssignment:
    """What is due first on the appliance of a story, given to a person; to nobody, where it is given back."""

    story: str
    days_ago: int
    person: str
    note: str = ""


@dataclass(frozen=True)
class DemoAnswer:
    """A person's word about the reminder of a story's appliance; the customer's contact's where nobody is named."""

    story: str
    days_ago: int
    person: str
    note: str


ASSIGNMENTS = (
    DemoAssignment("plan", 20, "Maren Fennimore", "Ask the owner for the confirmation of the order."),
    DemoAssignment("followup_overdue", 8, "Ingrid Falkenrath"),
    DemoAssignment("followup_overdue", 7, "Cassius Bright", "Ingrid is away until Monday."),
    DemoAssignment("initial_passed", 5, "Wilhelmina Achterberg", "Bring the electronic detector."),
    DemoAssignment("shutdown", 4, "Tobias Oduya"),
    DemoAssignment("shutdown", 2, "", "Waits for the day of the shutdown."),
)
ANSWERS = (
    DemoAnswer("followup_overdue", 5, "Cassius Bright", "Bay 9 is full until the weekend; Monday."),
    DemoAnswer("followup_overdue", 4, "", "Please ring before you come."),
)
#: Reminded of in time, and acknowledged by nobody of the firm.
UNANSWERED = "over_overdue"


class Desk:
    """Tells it all, in the order of its days."""

    def __init__(self, registers: Registers, now: datetime) -> None:
        self._registers, self._now = registers, now
        self._officer = registers.user(Role.COMPLIANCE_OFFICER)

    def tell(self) -> None:
        """Assign, remind, answer, and remind again today."""
        before = [row for row in ASSIGNMENTS if row.days_ago > REMINDED_DAYS_AGO]
        for row in before:
            self._assign(row)
        reminded_at = self._noon(REMINDED_DAYS_AGO)
        self._remind(reminded_at)
        self._send(reminded_at)
        for answer in ANSWERS:
            self._acknowledge(answer)
        for row in ASSIGNMENTS[len(before) :]:
            self._assign(row)
        self._remind(self._now)

    def _noon(self, days_ago: int) -> datetime:
        """When nobody's e-mail waits for the end of a night."""
        zone = timezone.get_default_timezone()
        on = self._now.astimezone(zone).date() - timedelta(days=days_ago)
        return datetime.combine(on, time(12), tzinfo=zone)

    def _appliances(self, story: str) -> list[Appliance]:
        return [appliance for appliance, told in self._registers.appliances if told == story]

    def _assign(self, told: DemoAssignment) -> None:
        """Nothing is given where the story's obligation isn't owed on the day on which the firm is loaded."""
        owed = self._first_owed(self._appliances(told.story)[0])
        if owed is None:
            return
        obligation_assign(
            by=self._officer,
            obligation=owed,
            technician=Technician.objects.filter(full_name=told.person).first(),
            user=User.objects.filter(full_name=told.person, technician=None).first(),
            note=told.note,
            assigned_at=self._noon(told.days_ago),
        )

    def _first_owed(self, appliance: Appliance) -> Obligation | None:
        owed = obligations_to_remind(self._now, GIVEN_WITHIN_DAYS, [appliance.pk])
        return owed.order_by("due_on", "pk").first()

    def _remind(self, now: datetime) -> None:
        """Remind of what these stories' appliances owe; what all others owe is the scheduler's, once it runs."""
        stories = {UNANSWERED, *(answer.story for answer in ANSWERS)}
        appliances = [appliance for story in stories for appliance in self._appliances(story)[:1]]
        reminders_raise(now=now, appliance_ids=[appliance.pk for appliance in appliances])

    def _send(self, now: datetime) -> None:
        while reminder := reminder_claim(now=now):
            reminder_deliver(reminder=reminder, sent_at=now)

    def _acknowledge(self, told: DemoAnswer) -> None:
        appliance = self._appliances(told.story)[0]
        sent = Reminder.objects.filter(appliance=appliance, state=MessageState.SENT).order_by("pk")
        if told.person:
            sent = sent.filter(user__full_name=told.person, channel=ReminderChannel.PORTAL)
        else:
            sent = sent.filter(user=None)
        for reminder in sent[:1]:
            reminder_acknowledge(
                reminder=reminder,
                way=AcknowledgementWay.PORTAL if told.person else AcknowledgementWay.LINK,
                note=told.note,
                acknowledged_at=self._noon(told.days_ago),
            )
