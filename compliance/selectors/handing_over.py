"""Whether and how the record of an event reached the customer."""

from dataclasses import dataclass

from compliance.models import MessageState, RecordDelivery
from jobs.models import Customer, ServiceEvent, WorkOrigin


@dataclass(frozen=True)
class HandingOver:
    """What the page of an event says of the way of its record to the customer, oldest sending first."""

    customer: Customer
    is_own_work: bool
    deliveries: list[RecordDelivery]

    @property
    def is_waiting(self) -> bool:
        """Whether a sending to the present address is still to come, so that nobody need ask for another."""
        waiting = (MessageState.WAITING, MessageState.SENDING)
        return any(
            row.state in waiting and row.recipient_email == self.customer.email for row in self.deliveries
        )


def handing_over(event: ServiceEvent) -> HandingOver:
    """Gather the sendings of an event's record."""
    return HandingOver(
        customer=event.appliance.site.customer,
        is_own_work=event.origin == WorkOrigin.OWN,
        deliveries=list(event.deliveries.select_related("asked_by")),
    )
