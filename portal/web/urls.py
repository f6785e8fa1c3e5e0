"""Addresses of the shared pages."""

from django.urls import path

from portal.web import views

urlpatterns = [
    path("", views.HomeView.as_view(), name="home"),
]
