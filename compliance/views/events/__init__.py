"""The event pages: choosing an appliance, filing, the records and their correction."""

from compliance.views.events.amending import EventAmendView, EventVoidView
from compliance.views.events.filing import EventAddView, EventHeadroomView, EventPickView
from compliance.views.events.records import EventDetailView, EventListView

__all__ = [
    "EventAddView",
    "EventAmendView",
    "EventDetailView",
    "EventHeadroomView",
    "EventListView",
    "EventPickView",
    "EventVoidView",
]
