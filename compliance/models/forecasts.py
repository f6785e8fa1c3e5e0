"""Estimates of when appliances want their next charge: projections of a pure function, made anew each day."""

from django.db import models

from jobs.models import Appliance


class ApplianceForecast(models.Model):
    """The next charge of one appliance as estimated on one day at its site.

    An appliance that was charged too seldom has none. Where there is no estimate for another reason, ``missing``
    says which and the figures are empty. Of ``outcome_count`` intervals of the past, the charge would go over a
    threshold in ``over_count``, and within 90 days in ``over_soon_count``.
    """

    appliance = models.OneToOneField(Appliance, on_delete=models.CASCADE, related_name="forecast")
    as_of = models.DateField()
    chain_length = models.PositiveIntegerField(help_text="Records in the appliance's chain when it was made.")
    missing = models.CharField(max_length=20, blank=True)
    next_on = models.DateField(null=True)
    earliest_on = models.DateField(null=True)
    latest_on = models.DateField(null=True)
    usual_mg = models.BigIntegerField(null=True)
    outcome_count = models.PositiveSmallIntegerField(default=0)
    over_count = models.PositiveSmallIntegerField(default=0)
    over_soon_count = models.PositiveSmallIntegerField(default=0)
    rate_pct = models.DecimalField(max_digits=14, decimal_places=2, null=True)
    threshold_pct = models.DecimalField(max_digits=6, decimal_places=2, null=True)
    is_repaired_since = models.BooleanField(default=False)

    class Meta:
        indexes = (models.Index(fields=("as_of",), name="compliance_forecast_as_of"),)

    def __str__(self) -> str:
        return f"{self.appliance}: next charge about {self.next_on}"
