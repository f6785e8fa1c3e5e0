"""Addresses of the event pages."""

from django.urls import URLPattern

urlpatterns: list[URLPattern] = []
