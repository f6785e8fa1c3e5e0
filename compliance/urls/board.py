"""Addresses of the board, appliances, reminders and the system's status."""

from django.urls import URLPattern

urlpatterns: list[URLPattern] = []
