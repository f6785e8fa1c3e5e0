"""Rows that are written once: neither the model nor the database lets them change."""

from typing import Any, NoReturn

from django.db import models

from jobs.errors import FiledRecordIsFixed


class FiledQuerySet(models.QuerySet[Any]):
    """A queryset that refuses what would change filed rows."""

    def update(self, **kwargs: Any) -> NoReturn:
        raise FiledRecordIsFixed(self.model._meta.verbose_name)  # noqa: SLF001 -- Django documents it

    def delete(self) -> NoReturn:
        raise FiledRecordIsFixed(self.model._meta.verbose_name)  # noqa: SLF001 -- Django documents it


class FiledModel(models.Model):
    """A row that is inserted and then stays as it is; database triggers hold the same line."""

    objects = FiledQuerySet.as_manager()

    class Meta:
        abstract = True

    def save(self, *args: Any, **kwargs: Any) -> None:
        """Insert the row.

        Raises:
            FiledRecordIsFixed: the row already exists.
        """
        if not self._state.adding:
            raise FiledRecordIsFixed(self._meta.verbose_name)
        super().save(*args, **kwargs)

    def delete(self, *args: Any, **kwargs: Any) -> NoReturn:
        """Refuse."""
        raise FiledRecordIsFixed(self._meta.verbose_name)
