"""Addresses of the compliance pages."""

from django.urls.resolvers import URLPattern

urlpatterns: list[URLPattern] = []
