"""The event pages: choosing an appliance, filing, the records, their correction and handing over."""

from compliance.views.events.amending import EventAmendView, EventVoidView
from compliance.views.events.filing import EventAddView, EventEvacuationView, EventHeadroomView, EventPickView
from compliance.views.events.handing_over import EventPdfView, EventSendView, RecordDeliveryPdfView
from compliance.views.events.logs import WeighLogAddView, WeighLogDownloadView, WeighLogReadView
from compliance.views.events.records import EventDetailView, EventListView

__all__ = [
    "EventAddView",
    "EventAmendView",
    "EventDetailView",
    "EventEvacuationView",
    "EventHeadroomView",
    "EventListView",
    "EventPdfView",
    "EventPickView",
    "EventSendView",
    "EventVoidView",
    "RecordDeliveryPdfView",
    "WeighLogAddView",
    "WeighLogDownloadView",
    "WeighLogReadView",
]
