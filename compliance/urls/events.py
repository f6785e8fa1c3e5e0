"""Addresses of the event pages."""

from django.urls import URLPattern, path

from compliance.views import events

urlpatterns: list[URLPattern] = [
    path("events/", events.EventListView.as_view(), name="event-list"),
    path("events/add/", events.EventPickView.as_view(), name="event-pick"),
    path("events/<int:pk>/", events.EventDetailView.as_view(), name="event-detail"),
    path("events/<int:pk>.pdf", events.EventPdfView.as_view(), name="event-pdf"),
    path("events/<int:pk>/send/", events.EventSendView.as_view(), name="event-send"),
    path("events/<int:pk>/amend/", events.EventAmendView.as_view(), name="event-amend"),
    path("events/<int:pk>/void/", events.EventVoidView.as_view(), name="event-void"),
    path("weigh-logs/read/", events.WeighLogReadView.as_view(), name="weigh-log-read"),
    path("weigh-logs/<int:pk>/file/", events.WeighLogDownloadView.as_view(), name="weigh-log-download"),
    path("transfers/<int:pk>/log/add/", events.WeighLogAddView.as_view(), name="weigh-log-add"),
    path("appliances/<int:appliance_pk>/events/add/", events.EventAddView.as_view(), name="event-add"),
    path("appliances/<int:pk>/headroom/", events.EventHeadroomView.as_view(), name="event-headroom"),
    path("deliveries/<int:pk>.pdf", events.RecordDeliveryPdfView.as_view(), name="record-delivery-pdf"),
    path("appliances/<int:pk>/evacuation/", events.EventEvacuationView.as_view(), name="event-evacuation"),
]
