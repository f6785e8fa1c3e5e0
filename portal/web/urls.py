"""Addresses of the shared pages."""

from django.urls import path

from portal.web import views

urlpatterns = [
    path("", views.HomeView.as_view(), name="home"),
    path("favicon.ico", views.favicon, name="favicon"),
    path("mailbox/", views.MailboxView.as_view(), name="mailbox"),
    path("mailbox/<str:name>/", views.LetterView.as_view(), name="mailbox-letter"),
    path(
        "mailbox/<str:name>/attachments/<int:position>/",
        views.AttachmentView.as_view(),
        name="mailbox-attachment",
    ),
]
