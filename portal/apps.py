"""Configuration of the site's own application: it holds commands and the demo firm, no models."""

from django.apps import AppConfig


class PortalConfig(AppConfig):
    name = "portal"
    label = "portal"
    verbose_name = "Portal"
