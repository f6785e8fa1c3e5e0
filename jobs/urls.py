"""Addresses of the jobs pages."""

from django.urls.resolvers import URLPattern

urlpatterns: list[URLPattern] = []
