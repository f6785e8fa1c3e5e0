"""Bytes as they came, kept compressed: logs of scales, and documents beside a filing."""

import zlib

from django.db import models


class KeptBytes(models.Model):
    """The bytes of a file as they came, compressed; its SHA-256 stands in the row that keeps them."""

    byte_count = models.PositiveIntegerField()
    compressed = models.BinaryField()

    class Meta:
        abstract = True

    @property
    def content(self) -> bytes:
        """The bytes as they came."""
        return zlib.decompress(bytes(self.compressed))
