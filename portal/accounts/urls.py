"""Addresses of the sign-in pages."""

from django.urls.resolvers import URLPattern

urlpatterns: list[URLPattern] = []
