"""Conditions of check constraints that several tables share."""

from django.db import models


def exactly_one(*columns: str) -> models.Q:
    """That one of these columns is filled and the others are empty."""
    condition = models.Q()
    for filled in columns:
        condition |= models.Q(**{f"{name}__isnull": name != filled for name in columns})
    return condition
