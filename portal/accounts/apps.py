"""Configuration of the accounts application."""

from django.apps import AppConfig
from django.db.models.signals import post_migrate


class AccountsConfig(AppConfig):
    name = "portal.accounts"
    label = "accounts"
    verbose_name = "Accounts"

    def ready(self) -> None:
        """Have the roles written into their groups after every migrate."""
        from portal.accounts.roles import sync_roles  # noqa: PLC0415 -- the models are loaded by now

        post_migrate.connect(sync_roles, sender=self, dispatch_uid="accounts.sync_roles")
