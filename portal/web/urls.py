"""Addresses of the shared pages."""

from django.urls.resolvers import URLPattern

urlpatterns: list[URLPattern] = []
