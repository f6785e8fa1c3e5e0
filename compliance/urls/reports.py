"""Addresses of the reports."""

from django.urls import URLPattern

urlpatterns: list[URLPattern] = []
