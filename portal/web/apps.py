"""Configuration of the shared page parts."""

from django.apps import AppConfig


class WebConfig(AppConfig):
    name = "portal.web"
    label = "web"
    verbose_name = "Shared pages"
