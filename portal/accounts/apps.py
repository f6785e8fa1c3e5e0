"""Configuration of the accounts application."""

from django.apps import AppConfig


class AccountsConfig(AppConfig):
    name = "portal.accounts"
    label = "accounts"
    verbose_name = "Accounts"
